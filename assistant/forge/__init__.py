"""Build-time workshop for the speech model and the fixtures. Never imported at run time."""

"""Build-time workshop: makes the speech model and the recorded fixtures. Never imported at run time."""

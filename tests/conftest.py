"""Settings of the whole suite: it must pass on a busy machine as on an idle one."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

"""Settings of the whole suite: it must pass on a busy machine as on an idle one."""

from __future__ import annotations

import signal

from hypothesis import settings

settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")

# A shell starts what runs in its background deaf to Ctrl-C, and the programs that tests start would
# be so too.
signal.signal(signal.SIGINT, signal.default_int_handler)

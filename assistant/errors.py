"""Every error raised on purpose, split by who must act.

Each message is one line that says what is wrong and what to do about it.
"Not understood" and "not now" are answers, not errors.
"""


class AssistantError(Exception):
    """Base of all our errors: the command line prints its line and exits with 1."""


class ConfigError(AssistantError):
    """A file must be mended by its author (recipe, word list, settings, script)."""


class DeviceError(AssistantError):
    """Hardware or a sound library must be mended at the chair."""


class StoreError(AssistantError):
    """The disk refuses: keep timing, shout."""


class SumError(AssistantError):
    """A number given cannot be: the person who gave it says another one."""

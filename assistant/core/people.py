"""Who looks after a chair: the stylist, or the assistant, who may check and rinse there and ask.

Nobody is known by voice: a chair is handed over aloud, and taken back aloud.
"""

from __future__ import annotations

from assistant.core.head import Head
from assistant.core.intents import Intent
from assistant.core.replies import Outcome, reply
from assistant.core.rule import SalonRule

ASSISTANT_MAY = frozenset({
    "ready", "all_ready", "not_ready", "give_it", "which_number", "rinsing", "rinsed", "next",
    "comfortable", "note", "burns", "to_assistant", "to_stylist", "ask_stylist", "stylist_here",
})  # fmt: skip


def may(head: Head, command: str) -> bool:
    """Whether a changing command is taken at this chair as it is looked after now."""
    return not head.file.with_assistant or command in ASSISTANT_MAY


def to_assistant(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """ "Chair two is for the assistant"."""
    head.file.with_assistant = True
    return Outcome((reply("to_assistant", chair=head.chair),), True)


def to_stylist(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Taken back: everything may be said again."""
    head.file.with_assistant, head.file.asked_at = False, None
    return Outcome((reply("to_stylist", chair=head.chair),), True, True)


def ask_stylist(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """A doubt goes back to the stylist: called out until somebody answers."""
    head.file.asked_at = at
    return Outcome((), True)  # the call speaks


def stylist_here(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """The stylist has come."""
    head.file.asked_at = None
    return Outcome((reply("stylist_here"),), True)

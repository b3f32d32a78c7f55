"""The safety gate: challenge and response before anything is mixed.

The program never says that a client is safe: it asks, writes the answer down and stops on a
missing or bad one.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.head import Head
from assistant.core.intents import Intent
from assistant.core.replies import Outcome, not_now, reply, said
from assistant.core.rule import SalonRule

ANSWERS: Mapping[str, tuple[str, str]] = {
    # command: (question, what is written down)
    "test_missing": ("alert test", "none on record"),
    "test_reaction": ("alert test", "reaction"),
    "scalp_sound": ("scalp", "healthy"),
    "scalp_sore": ("scalp", "sore or broken"),
    "gloves_on": ("gloves", "on"),
    "leaflet_here": ("leaflet", "in hand"),
    "leaflet_missing": ("leaflet", "missing"),
    "age_over": ("age", "sixteen or over"),
    "age_under": ("age", "younger than sixteen"),
}
STOPS = frozenset({"test_missing", "test_reaction", "scalp_sore", "age_under"})


def answer(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Take the answer to the present question; a bad one stops the routine with its reason."""
    question, given = ANSWERS[intent.name]
    if not head.legal("answered") or head.step().subject != question:
        return not_now(head)
    if intent.name == "leaflet_missing":  # can be mended at once: ask again
        return said(reply("gate_fetch_leaflet", asks="gate"))
    head.file.gate[question] = given
    if intent.name in STOPS:
        return _refuse(head, intent.name)
    head.move("answered")
    return Outcome((reply("gate_noted", question=question, answer=given),), True, True)


def test_clear(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """A clear alert test so many days ago: within the salon's own rule, or the routine stops."""
    if not head.legal("answered") or head.step().subject != "alert test":
        return not_now(head)
    days = intent.number or 0
    head.file.gate["alert test"] = f"clear, {days} days ago"
    if not rule.alert_test_days_min <= days <= rule.alert_test_days_max:
        head.file.gate["alert test"] += ", outside the salon's rule"
        head.file.stopped_why = "test_days"
        head.move("refused")
        return Outcome(
            (
                reply(
                    "gate_stop_test_days",
                    days=days,
                    least=rule.alert_test_days_min,
                    most=rule.alert_test_days_max,
                ),
            ),
            True,
        )
    head.move("answered")
    return Outcome((reply("gate_test_noted", days=days),), True, True)


def _refuse(head: Head, why: str) -> Outcome:
    head.file.stopped_why = why
    head.move("refused")
    return Outcome((reply(f"gate_stop_{why}"),), True)

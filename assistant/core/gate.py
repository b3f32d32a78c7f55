"""The safety gate: challenge and response before anything is mixed.

The program never says that a client is safe: it asks, writes the answer down and stops on a
missing or bad one.
"""

from __future__ import annotations

from collections.abc import Mapping

from assistant.core.client_card import LINE_UNKNOWN
from assistant.core.head import Head
from assistant.core.intents import Intent
from assistant.core.replies import Outcome, Reply, not_now, reply, said
from assistant.core.rule import SalonRule

ANSWERS: Mapping[str, tuple[str, str]] = {
    # command: (question, what is written down)
    "test_missing": ("alert test", "none on record"),
    "test_reaction": ("alert test", "reaction"),
    "line_other": ("alert test", "on record for another product line"),
    "scalp_sound": ("scalp", "healthy"),
    "scalp_sore": ("scalp", "sore or broken"),
    "gloves_on": ("gloves", "on"),
    "leaflet_here": ("leaflet", "in hand"),
    "leaflet_missing": ("leaflet", "missing"),
    "age_over": ("age", "sixteen or over"),
    "age_under": ("age", "younger than sixteen"),
}
STOPS = frozenset({"test_missing", "test_reaction", "line_other", "scalp_sore", "age_under"})


def ask(head: Head) -> Reply:
    """The present question; the one for the alert test begins with what the records hold."""
    question = head.step().subject
    client = head.file.client
    if question != "alert test" or client is None or client.card is None:
        return reply(f"gate_{question.replace(' ', '_')}", asks="gate")
    test = client.card.test
    if test is None:
        return reply("gate_test_none", asks="gate")
    if client.verdict == "good":
        line = test.line or LINE_UNKNOWN
        return reply("gate_test_on_record", asks="gate", days=test.days_ago, line=line)
    least, most = test.days(client.rule)
    return reply("gate_test_outside", asks="gate", days=test.days_ago, least=least, most=most)


def reaction_on_record(head: Head) -> Outcome:
    """Some earlier test or product caused a reaction: nothing said today outweighs that.

    Which and when is for eyes only.
    """
    head.file.gate["alert test"] = "reaction on record"
    head.file.stopped_why = "reaction_on_record"
    head.move("refused")
    return Outcome((reply("gate_stop_reaction_on_record", chair=head.chair),), True)


def line_same(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """The product line of the test on record is the one of today."""
    client = head.file.client
    if not head.legal("answered") or head.step().subject != "alert test":
        return not_now(head)
    if client is None or client.card is None or client.card.test is None:
        return said(ask(head))
    if client.verdict != "good":
        return said(ask(head))
    test = client.card.test
    line, who = test.line or LINE_UNKNOWN, test.who or "nobody named"
    head.file.gate["alert test"] = f"on record: clear, {test.days_ago} days ago, {line} ({who})"
    head.move("answered")
    return Outcome((reply("gate_line_noted", days=test.days_ago),), True, True)


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

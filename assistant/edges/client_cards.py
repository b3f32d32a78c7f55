"""What do the records know of a client, as far as it may be spoken and journaled?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from assistant.core.client_card import LINE_UNKNOWN, Card, PastBowl, PastVisit, PastZone
from assistant.core.growth import ANYBODY, LEAST_DAYS, GrowthRate, own_rate
from assistant.core.rule import SalonRule
from assistant.edges import alert_tests
from assistant.edges.alert_tests import AlertTest
from assistant.edges.record_rows import Stored, local_day
from assistant.edges.records import RecordStore

# What people write that is to be read before a service, never spoken.
TO_READ = ("alert test", "analysis", "contra-indications", "colour problem", "notes", "outcome")


def read(store: RecordStore, client: str, utc: float) -> Card:
    """A client's card as it is today."""
    return card_of(
        client,
        store.of_client(client),
        store.tests(client),
        store.consultation(client),
        local_day(utc),
    )


def card_of(
    client: str,
    visits: Sequence[Stored],
    tests: Sequence[AlertTest],
    asked: dict[str, str | float],
    today: date,
) -> Card:
    """A client's card from every record of theirs, oldest first."""
    known = [*tests, *_from_services(client, visits)]
    done = [record for record in visits if _was_coloured(record.service)]
    return Card(
        visits=len(visits),
        reaction=alert_tests.reaction_stands(known) or _told_of_reaction(asked),
        more=any(set(record.written()) & set(TO_READ) for record in visits),
        test=alert_tests.newest_clear(known, today),
        last=_last(done[-1], today) if done else None,
        growth=_growth(done),
    )


def _growth(done: Sequence[Stored]) -> GrowthRate | None:
    """From the newest visit whose consultation, asked anew, had the regrowth measured."""
    for before, after in reversed(list(pairwise(done))):
        days, grown = (after.day - before.day).days, after.asked.get("regrowth_mm")
        if isinstance(grown, int | float) and days >= LEAST_DAYS and after.asked != before.asked:
            return own_rate(days, float(grown))
    return None


def _from_services(client: str, visits: Sequence[Stored]) -> Iterator[AlertTest]:
    for record in visits:
        for found in (alert_tests.told_at_gate, alert_tests.burned):
            test = found(client, record.day, record.service)
            if test is not None:
                yield test


def _told_of_reaction(asked: dict[str, str | float]) -> bool:
    """The newest consultation holds: who answers "none" again lifts what was said before."""
    return asked.get("earlier_reaction", "none") != "none"


def _was_coloured(service: dict[str, Any]) -> bool:
    """A service that the gate stopped is no visit to start from."""
    return any(zone["on_at"] is not None for zone in service["zones"])


def _last(record: Stored, today: date) -> PastVisit:
    service = record.service
    return PastVisit(
        days_ago=max(0, (today - record.day).days),
        recipe=service["recipe"],
        bowls=tuple(map(_bowl, service["bowls"])),
        zones=tuple(map(_zone, service["zones"])),
        notes=tuple(service["notes"]),
        outcome=tuple(value for _, value in service.get("outcome", ())),
    )


def _bowl(bowl: dict[str, Any]) -> PastBowl:
    return PastBowl(
        bowl["stage"],
        bowl["name"],
        bowl["shade"],
        bowl["ratio"],
        bowl["developer_percent"],
        bowl["grams"],
    )


def _zone(zone: dict[str, Any]) -> PastZone:
    on, off = zone["on_at"], zone["off_at"]
    return PastZone(
        zone["stage"],
        zone["name"],
        zone["target_minutes"],
        zone["limit_minutes"],
        (off - on) / 60 if on is not None and off is not None else None,
        zone["left_out"],
    )


def in_words(card: Card, rule: SalonRule) -> Iterator[str]:
    """What the gate and "same as last time" would go by today, to read."""
    yield f"{card.visits} services on record"
    meaning = {
        "reaction": "A REACTION is on record and was not lifted: the gate stops",
        "none": "no alert test on record: the gate asks",
        "outside": "the alert test does not count today: the gate asks for another",
        "good": "the alert test counts today, for its own product line",
    }
    yield meaning[card.verdict(rule)]
    if card.test is not None:
        least, most = card.test.days(rule)
        line = card.test.line or LINE_UNKNOWN
        who = card.test.who or "nobody named"
        yield f"newest clear test: {card.test.days_ago} days ago, {line} ({who})"
        yield f"it counts from {least} to {most} days"
    if card.last is not None:
        notes = ", ".join(card.last.notes) or "none"
        yield f"last service: {card.last.recipe}, {card.last.days_ago} days ago, notes: {notes}"
    if card.regrowth is not None:
        source = card.growth.source if card.growth else ANYBODY.source
        yield f"{card.regrowth.spoken()} ({source})"

"""Answers to a strand check: ready, not ready, give it five. The limit is never moved."""

from __future__ import annotations

from dataclasses import replace

from assistant.core import numbers
from assistant.core.clocks import MINUTE
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun
from assistant.core.intents import Intent
from assistant.core.replies import Outcome, not_now, reply, said
from assistant.core.rule import SalonRule


def all_ready(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Every zone that is on is as wished."""
    names = tuple(run.zone.name for run in _open(head))
    return ready(head, replace(intent, zones=names), at, rule)


def _open(head: Head) -> list[ZoneRun]:
    """Zones that still have to be looked at."""
    return [run for run in head.running() if run.ready_at is None or head.in_doubt(run)]


def _checked(head: Head, intent: Intent, at: float) -> list[ZoneRun]:
    """The zones an answer is about: the one named, those asked about, or those that are due.

    Empty if there are several and none is asked about or due: then it is not clear which.
    """
    running = head.running()
    if intent.zone:
        return [run for run in running if run.zone.name == intent.zone]
    open_ones = _open(head)
    asked = [run for run in open_ones if run.zone.name in intent.zones]
    due = [run for run in open_ones if _look_at(head, run) <= at]
    return asked or due or (open_ones if len(open_ones) == 1 else [])


def _look_at(head: Head, run: ZoneRun) -> float:
    return head.clock(run).check_from_at if run.look_at is None else run.look_at


def _no_zone(head: Head, intent: Intent) -> Outcome:
    """An answer to a check that nobody can place."""
    names = tuple(run.zone.name for run in _open(head))
    if len(names) > 1 and head.legal("checked") and not intent.zone:
        return said(reply("which_zone", asks="check", zones=names))
    return not_now(head)


def ready(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """The strand is as wished: no more checks, the limit stays."""
    runs = _checked(head, intent, at)
    if not runs or not head.legal("checked"):
        return _no_zone(head, intent)
    for run in runs:
        run.ready_at = at
        run.checks.append((at, "ready"))
    left = min(head.clock(run).limit_at for run in runs) - at
    zones = tuple(run.zone.name for run in runs)
    others = [z for z in head.running() if z.ready_at is None]
    head.move("checked")
    if left <= 0:
        return Outcome((reply("ready_over", zones=zones),), True)
    if others or any(z.waiting for z in head.zones()):
        return Outcome((reply("ready", zones=zones, left=numbers.minutes(left)),), True)
    # one rinse for all: the head has as long as its shortest limit, not as the zone just looked at
    head_left = min(head.clock(run).limit_at for run in head.running()) - at
    return Outcome((reply("ready_all", zones=zones, left=numbers.minutes(head_left)),), True)


def not_ready(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Look again after the recipe's rhythm, inside the limit."""
    runs = _checked(head, intent, at)
    if not runs or not head.legal("checked"):
        return _no_zone(head, intent)
    every = min(run.zone.window.check_every_minutes for run in runs)
    if min(head.clock(run).limit_at for run in runs) <= at:
        return _at_limit(head, runs, "not ready", at)
    # the next look never passes by the target, nor after it the limit
    stops = [t for run in runs for t in (head.clock(run).target_at, head.clock(run).limit_at)]
    ahead = min(stop for stop in stops if stop > at) - at
    return _look_again(head, runs, "not ready", at, min(every * MINUTE, ahead))


def give_it(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """ "Give it five": re-arm inside the limit; what fits decides between thirteen and thirty."""
    runs = _checked(head, intent, at)
    if not runs or intent.number is None or not head.legal("checked"):
        return _no_zone(head, intent)
    left = min(head.clock(run).limit_at for run in runs) - at
    alike = (intent.number, *numbers.sound_alikes(intent.number))
    fits = sorted(n for n in alike if n * MINUTE <= left)
    words = f"give it {intent.number}"
    if left <= 0:
        return _at_limit(head, runs, words, at)
    if not fits:
        return _past_limit(head, runs, intent.number, at, left)
    outcome = _look_again(head, runs, words, at, fits[0] * MINUTE)
    if len(fits) > 1:  # the shorter one is armed while we ask
        zones = tuple(run.zone.name for run in runs)
        question = reply("which_number", asks="number", first=fits[0], second=fits[1], zones=zones)
        return Outcome((question,), True)
    return outcome


def which_number(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """The answer to "one three or three zero?": taken as said, inside the limit.

    It is about the zones of that question and no others.
    """
    runs = [run for run in _open(head) if run.zone.name in intent.zones]
    if not runs or intent.number is None or not head.legal("checked"):
        return not_now(head)
    left = min(head.clock(run).limit_at for run in runs) - at
    if intent.number * MINUTE > left:
        return _past_limit(head, runs, intent.number, at, left)
    return _look_again(head, runs, f"give it {intent.number}", at, intent.number * MINUTE)


def _look_again(head: Head, runs: list[ZoneRun], answer: str, at: float, seconds: float) -> Outcome:
    for run in runs:
        run.look_at = at + seconds
        run.ready_at = None
        run.checks.append((at, answer))
    head.move("checked")
    zones = tuple(run.zone.name for run in runs)
    return Outcome((reply("look_again", zones=zones, wait=round(seconds / MINUTE)),), True)


def _past_limit(head: Head, runs: list[ZoneRun], asked: int, at: float, left: float) -> Outcome:
    """More minutes than the limit leaves: refused with what is left."""
    for run in runs:
        run.checks.append((at, f"give it {asked}: refused"))
    zones = tuple(run.zone.name for run in runs)
    return said(
        reply("past_limit", asks="check", zones=zones, left=numbers.minutes(left), asked=asked)
    )


def _at_limit(head: Head, runs: list[ZoneRun], answer: str, at: float) -> Outcome:
    for run in runs:
        run.checks.append((at, f"{answer}: refused, at the limit"))
    return said(reply("at_limit", zones=tuple(run.zone.name for run in runs)))

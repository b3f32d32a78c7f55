"""What a command changes on one head. An act that the table does not allow changes nothing."""

from __future__ import annotations

from collections.abc import Callable

from assistant.core import checks, gate, numbers, people, teaching
from assistant.core.head import Head
from assistant.core.intents import Intent
from assistant.core.replies import Outcome, not_now, reply, said
from assistant.core.rule import SalonRule

Act = Callable[[Head, Intent, float, SalonRule], Outcome]


def act(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Carry out a changing command on a head at salon second `at`."""
    return _ACTS[intent.name](head, intent, at, rule)


# -------------------------------------------------------- mix, section, apply


def _mixed(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    step = head.step()
    if not head.legal("mixed"):
        return _remix(head, intent, at)
    if intent.bowl and intent.bowl != step.subject:
        return said(reply("not_that_bowl", bowl=step.subject))
    head.file.mixed[step.stage, step.subject] = at
    head.move("mixed")
    return Outcome((reply("mixed", bowl=step.subject),), True, True)


def _remix(head: Head, intent: Intent, at: float) -> Outcome:
    """A fresh bowl of the same: only its age starts again."""
    key = (head.step().stage, intent.bowl)
    if key not in head.file.mixed or head.state in ("closed", "stopped"):
        return not_now(head)
    head.file.mixed[key] = at
    return Outcome((reply("mixed", bowl=intent.bowl),), True)


def _starting(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    step = head.step()
    run = head.zone(intent.zone or step.subject)
    if not head.legal("began") or run is None or run.zone.name != step.subject:
        return not_now(head)
    run.pass_began_at = at
    head.move("began")
    return Outcome((reply("pass_begun", zone=run.zone.name),), True)


def _zone_on(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    run = head.zone(intent.zone or head.step().subject)
    if run is None or not head.legal("zone_on"):
        return not_now(head)
    if not run.waiting:
        return said(reply("already_on", zone=run.zone.name))
    if (head.step().stage, run.zone.bowl) not in head.file.mixed:
        return said(reply("bowl_first", bowl=run.zone.bowl))
    early = teaching.out_of_order(head, run)
    run.on_at = at
    head.move("zone_on")
    clock = head.clock(run)
    return Outcome(
        (
            reply(
                "zone_on",
                zone=run.zone.name,
                check=numbers.minutes(clock.check_from_at - at),
                limit=numbers.minutes(clock.limit_at - at),
            ),
            *early,
        ),
        True,
        True,
    )


def _skip(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    run = head.zone(intent.zone)
    if run is None or not run.waiting or not head.legal("left_out"):
        return not_now(head)
    if not run.zone.optional:
        return said(reply("not_optional", zone=run.zone.name))
    run.left_out = True
    head.move("left_out")
    return Outcome((reply("left_out", zone=run.zone.name),), True, True)


# ------------------------------------------------------------------- rinse


def _rinsing(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    runs = [run for run in head.running() if intent.zone in ("", run.zone.name)]
    if not runs or not head.legal("rinse_began"):
        return not_now(head)
    for run in runs:
        run.rinsing_at = at
    head.move("rinse_began")
    noted = reply("rinsing", zones=tuple(r.zone.name for r in runs))
    return Outcome((noted,), True, teaching.reads(head) and head.state == "rinse")


def _rinsed(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    if intent.zone:
        runs = [z for z in head.zones() if z.zone.name == intent.zone and z.running]
    else:
        runs = [z for z in head.zones() if z.running and z.rinsing_at is not None]
    if not runs or not head.legal("rinsed"):
        return said(reply("rinse_first")) if head.running() else not_now(head)
    before = head.step()
    for run in runs:
        run.rinsing_at = at if run.rinsing_at is None else run.rinsing_at
        run.rinsed_at = at
    head.move("rinsed")
    zones = tuple(run.zone.name for run in runs)
    return Outcome((reply("rinsed", zones=zones),), True, head.step() != before)


def _stop_clock(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Confirmed: the zone's clock stops (its product was taken off)."""
    run = head.zone(intent.zone)
    if run is None or not run.running or not head.legal("rinsed"):
        return not_now(head)
    run.stopped_at = at
    head.move("rinsed")
    return Outcome((reply("clock_stopped", zone=run.zone.name),), True)


def _end_service(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    if any(z.running for z in head.file.zones):
        return said(reply("end_rinse_first"))
    if not head.legal("ended"):
        return not_now(head)
    head.file.ended_at = at
    head.move("ended")
    return Outcome((reply("ended"),), True)


# -------------------------------------------------------- guide, comfort, notes


def _next(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    if head.state == "finish":
        head.file.finished += 1
        if head.step().kind == "closed":
            head.file.ended_at = at
        head.move("done")
        return Outcome((), True, True)
    head.file.told += 1
    return Outcome((), False, True)


def _comfortable(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    head.file.comfort.append(at)
    return Outcome((reply("comfort_noted"),), True)


def _note(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    note = f"{intent.zone} {intent.note}".strip()
    head.file.notes.append(note)
    return Outcome((reply("noted", note=note),), True)


def _outcome(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """How colour or hair came out; what is said last holds."""
    what = "colour" if intent.outcome else "hair"
    head.file.outcome[what] = intent.outcome or intent.feel
    return Outcome((reply("outcome_noted", what=what, how=head.file.outcome[what]),), True)


def _home_care(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    head.file.home_care_at = at
    return Outcome((reply("home_care_noted"),), True)


def _burns(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """No confirmation, no undo of the safety words: stop and rinse."""
    if not head.legal("burned"):
        return not_now(head)
    head.file.burns_at = at
    head.file.incidents.append((at, "burning was reported"))
    head.file.stopped_why = "burns"
    head.move("burned")
    if any(z.running for z in head.file.zones):
        return Outcome((), True)  # the call speaks
    return Outcome((reply("burns_nothing_on"),), True)


def _take_up(head: Head, intent: Intent, at: float, rule: SalonRule) -> Outcome:
    """Confirmed: nothing burned. The clocks ran on all the while; the record keeps both moments."""
    if head.file.burns_at is None or not head.legal("taken_up"):
        return not_now(head)
    head.file.incidents.append((at, "nothing burned: taken up again"))
    head.file.burns_at, head.file.stopped_why = None, ""
    head.move("taken_up")
    return Outcome((reply("taken_up"),), True, True)


_ACTS: dict[str, Act] = {
    **dict.fromkeys(gate.ANSWERS, gate.answer),
    "test_clear": gate.test_clear,
    "line_same": gate.line_same,
    "mixed": _mixed,
    "starting": _starting,
    "zone_on": _zone_on,
    "skip": _skip,
    "ready": checks.ready,
    "all_ready": checks.all_ready,
    "not_ready": checks.not_ready,
    "give_it": checks.give_it,
    "which_number": checks.which_number,
    "rinsing": _rinsing,
    "rinsed": _rinsed,
    "stop_clock": _stop_clock,
    "end_service": _end_service,
    "next": _next,
    "comfortable": _comfortable,
    "note": _note,
    "outcome": _outcome,
    "feel": _outcome,
    "home_care": _home_care,
    "to_assistant": people.to_assistant,
    "to_stylist": people.to_stylist,
    "ask_stylist": people.ask_stylist,
    "stylist_here": people.stylist_here,
    "burns": _burns,
    **dict.fromkeys(("lesson_ratio", "lesson_volume", "lesson_minutes"), teaching.answered),
    "lesson_skip": teaching.skipped,
    "take_up": _take_up,
}

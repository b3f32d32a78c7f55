"""Answers and instructions: what is said about a head without changing it."""

from __future__ import annotations

from collections.abc import Callable

from assistant.core import gate, numbers, plan_answers, teaching
from assistant.core.clocks import MINUTE, planned_start
from assistant.core.due import Alarm, waiting
from assistant.core.head import GATE, Head
from assistant.core.head_file import ZoneRun
from assistant.core.intents import Intent
from assistant.core.mix import mix_total
from assistant.core.recipe import Bowl
from assistant.core.replies import Reply, reply

# ------------------------------------------------------------ instructions


def instruct(head: Head, at: float) -> list[Reply]:
    """The present step, or its next part if the first was told."""
    return teaching.taught(head, _INSTRUCT[head.step().kind](head, at), at)


def _gate(head: Head, at: float) -> list[Reply]:
    return [gate.ask(head)]


def _mix(head: Head, at: float) -> list[Reply]:
    return [_bowl_reply(head.stage().bowl(head.step().subject), asks=True)]


def _bowl_reply(bowl: Bowl, asks: bool) -> Reply:
    weighed = mix_total(bowl.grams, bowl.ratio)
    return reply(
        "mix",
        asks="mix" if asks else None,
        bowl=bowl.name,
        colour=round(weighed.colour_grams),
        developer=round(weighed.developer.grams),
        percent=numbers.decimal(bowl.developer_percent),
        ratio=bowl.ratio.spoken(),
    )


def _place(head: Head, at: float) -> list[Reply]:
    run = head.zone(head.step().subject)
    assert run is not None  # a place step names a zone of its stage
    parts = _parts(head, run, at)
    told = min(max(0, head.file.told - teaching.held_back(head)), len(parts))
    if told == len(parts):
        return [reply("say_when_on", asks="guide", zone=run.zone.name)]
    return [parts[told]]


def _parts(head: Head, run: ZoneRun, at: float) -> list[Reply]:
    zone = run.zone
    where = (
        reply("place_whole", asks="guide", zone=zone.name)
        if zone.depth_cm == 0
        else reply("place", asks="guide", zone=zone.name, depth=numbers.centimetres(zone.depth_cm))
    )
    start = _starts_at(head, run)
    if start is not None and start - at >= MINUTE:
        where = reply("place_wait", zone=zone.name, wait=numbers.minutes(start - at))
    tools = f"{zone.tools}. {zone.comb}" if zone.comb else zone.tools
    return [
        where,
        reply("say_text", asks="guide", text=zone.technique),
        reply("section", asks="guide", millimetres=numbers.decimal(zone.section_mm), tools=tools),
        reply("say_text", asks="guide", text=zone.watch),
    ]


def _starts_at(head: Head, run: ZoneRun) -> float | None:
    if not run.zone.wait_for_start:
        return None
    ahead = next((w for w in waiting(head) if w.zone == run.zone.name), None)
    on = [head.clock(z) for z in head.running()]
    return planned_start(on, ahead, head.stage().counts_from == "own") if ahead else None


def _develop(head: Head, at: float) -> list[Reply]:
    window = head.rinse_window()
    assert window is not None  # developing means that a zone is on and not being rinsed
    if not window.fits:
        return [reply("no_single_rinse", asks="comfort", zone=window.closed_by)]
    return [
        reply(
            "develop",
            asks="comfort",
            opens=max(0, round((window.opens - at) / MINUTE)),
            closes=numbers.minutes(window.closes - at),
        )
    ]


def _rinse(head: Head, at: float) -> list[Reply]:
    return [reply("say_text", asks="rinse", text=head.stage().rinse)]


def _finish(head: Head, at: float) -> list[Reply]:
    return [reply("say_text", asks="guide", text=head.step().subject)]


def _closed(head: Head, at: float) -> list[Reply]:
    """The record is written; what nobody has told yet is asked for, it can still be told."""
    told = (bool(head.file.outcome), head.file.home_care_at is not None)
    still = {(False, False): "both", (False, True): "result", (True, False): "home_care"}.get(told)
    closed = [reply("closed", chair=head.chair)]
    return [*closed, reply(f"still_to_tell_{still}")] if still else closed


_INSTRUCT: dict[str, Callable[[Head, float], list[Reply]]] = {
    "gate": _gate,
    "mix": _mix,
    "place": _place,
    "develop": _develop,
    "rinse": _rinse,
    "finish": _finish,
    "closed": _closed,
}

# --------------------------------------------------------------- questions


def answer(head: Head, intent: Intent, at: float) -> list[Reply]:
    """The answer to a question about this head."""
    teaching.looked_up(head, intent.name)
    return _ANSWERS[intent.name](head, intent, at)


def answers(name: str) -> bool:
    """Whether a command is a question about one head."""
    return name in _ANSWERS


def _how_long(head: Head, intent: Intent, at: float) -> list[Reply]:
    runs = head.running() if not intent.zone else [z for z in [head.zone(intent.zone)] if z]
    runs = [run for run in runs if run.on_at is not None and run.running]
    if not runs:
        return [reply("no_clock")]
    runs.sort(key=lambda run: head.clock(run).limit_at)
    return [_zone_time(head, run, at) for run in runs[:3]]


def _zone_time(head: Head, run: ZoneRun, at: float) -> Reply:
    clock = head.clock(run)
    on = numbers.minutes(at - clock.started_at)
    if at >= clock.limit_at:
        return reply("time_over", zone=run.zone.name, over=numbers.minutes(at - clock.limit_at))
    left = numbers.minutes(clock.limit_at - at)
    if run.ready_at is not None or at >= clock.target_at:
        return reply("time_limit", zone=run.zone.name, on=on, left=left)
    due = numbers.minutes(clock.target_at - at)
    return reply("time_due", zone=run.zone.name, on=on, due=due, left=left)


def _when_rinse(head: Head, intent: Intent, at: float) -> list[Reply]:
    window = head.rinse_window()
    if window is None:
        return [reply("no_clock")]
    if not window.fits:
        return [reply("no_single_rinse", zone=window.closed_by)]
    closes = numbers.minutes(window.closes - at)
    if window.opens <= at:
        return [reply("window_open", closes=closes, zone=window.closed_by)]
    opens = max(1, round((window.opens - at) / MINUTE))
    return [reply("window_later", opens=opens, closes=closes, zone=window.closed_by)]


def _ratio(head: Head, intent: Intent, at: float) -> list[Reply]:
    stage, step = head.stage(), head.step()
    run = head.zone(intent.zone or step.subject)
    name = run.zone.bowl if run is not None else step.subject
    bowl = next((b for b in stage.bowls if b.name == name), stage.bowls[0])
    return [_bowl_reply(bowl, asks=False)]


def _why(head: Head, intent: Intent, at: float) -> list[Reply]:
    step, why = head.step(), teaching.reason(head)
    if not why and step.kind in ("gate", "develop", "rinse"):
        return [reply(f"why_{step.kind}")]
    return [reply("say_text", text=why or head.recipe.why)]


def _back(head: Head, intent: Intent, at: float) -> list[Reply]:
    index = head.steps.index(head.step())
    if index == 0:  # nothing was before
        return instruct(head, at)
    before = head.steps[index - 1]
    if before.kind == "gate":
        noted = head.file.gate.get(before.subject, "")
        return [reply("gate_noted", question=GATE[GATE.index(before.subject)], answer=noted)]
    if before.kind == "mix":
        return [_bowl_reply(head.recipe.stages[before.stage].bowl(before.subject), asks=False)]
    return [reply("step_before", subject=before.subject)]


def _where(head: Head, intent: Intent, at: float) -> list[Reply]:
    """ "Back to chair two, step five: crown." and what is to be done there."""
    step, now = head.steps.index(head.step()) + 1, head.step()
    if head.state in ("stopped", "closed"):
        return [reply(f"not_now_{head.state}")]
    here = reply("back_to", chair=head.chair, step=step, subject=now.subject)
    if head.state == "pass":
        return [here, reply("say_when_on", asks="guide", zone=now.subject)]
    return [here, *instruct(head, at)]


_ANSWERS: dict[str, Callable[[Head, Intent, float], list[Reply]]] = {
    "how_long": _how_long,
    "when_rinse": _when_rinse,
    "ratio": _ratio,
    "why": _why,
    "toner_when": plan_answers.toner_when,
    "back": _back,
    "where": _where,
}


def whats_next(coming: list[Alarm], at: float) -> Reply:
    """What is due next at any chair."""
    ahead = [a for a in coming if a.kind in ("check", "window", "due", "limit", "start")]
    if not ahead:
        return reply("nothing_due")
    first = min(ahead, key=lambda a: a.at)
    wait = max(0, round((first.at - at) / MINUTE))
    return reply(
        f"next_{'check' if first.kind == 'window' else first.kind}",
        chair=first.chair or 0,
        zone=first.subject,
        wait=wait,
    )

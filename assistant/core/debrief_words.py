"""A debrief in at most four short sentences: order, passes, looks and limits, answers."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.core.clocks import MINUTE
from assistant.core.debrief import Debrief
from assistant.core.replies import Reply, reply


def spoken(of: Debrief) -> list[Reply]:
    """Its sentences."""
    if not of.order:
        return [reply("debrief_nothing")]
    return [_order(of), *_times(of), *_looks(of), *_questions(of)]


def _order(of: Debrief) -> Reply:
    if not of.early:
        return reply("debrief_order_kept")
    first = of.early[0]
    if len(of.early) == 1:
        return reply("debrief_order_early", zone=first.zone, first=first.first)
    return reply("debrief_order_more", count=len(of.early), zone=first.zone)


def _times(of: Debrief) -> Iterator[Reply]:
    real, planned = (round(seconds / MINUTE) for seconds in of.pass_seconds)
    spread = round(max((s.real for s in of.spreads), default=0.0) / MINUTE)
    longest = max(of.silences, key=lambda s: s.seconds, default=None)
    if longest is not None and planned:
        pause = _minutes(longest.seconds)
        yield reply("debrief_pause", real=real, planned=planned, pause=pause, zone=longest.zone)
    elif planned:
        yield reply("debrief_passes", real=real, planned=planned, spread=spread)
    elif of.spreads:
        yield reply("debrief_spread", spread=spread)


def _looks(of: Debrief) -> Iterator[Reply]:
    if of.over:
        worst = max(of.over, key=lambda over: over.seconds)
        yield reply("debrief_over", zone=worst.zone, over=_minutes(worst.seconds))
    elif of.late:
        late = _minutes(of.late[0].late)
        if len(of.late) == 1:
            yield reply("debrief_look_late", zone=of.late[0].zone, late=late)
        else:
            yield reply("debrief_looks_late", count=len(of.late), zone=of.late[0].zone, late=late)
    elif of.looks:
        yield reply("debrief_looks_good")


def _questions(of: Debrief) -> Iterator[Reply]:
    right, asked = of.answers
    missed = [(step, question) for step, question in of.questions if question.came != "right"]
    if missed and not right:
        step, question = missed[0]
        yield reply("debrief_look_again", subject=step.subject, answer=question.right)
    elif missed:
        step, question = missed[0]
        yield reply(
            "debrief_question",
            right=right,
            asked=asked,
            subject=step.subject,
            answer=question.right,
        )
    elif asked:
        yield reply("debrief_questions", right=right, asked=asked)


def _minutes(seconds: float) -> int:
    """What is over is rounded, not cut off; what is worth a word took a minute at least."""
    return max(1, round(seconds / MINUTE))

"""What is answered to questions about sums and plans: a bowl, a start, the toner?

Answers only: nothing here changes a head, a clock or a call.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.core import numbers, plan_head
from assistant.core.asked_mix import ratio_said
from assistant.core.clocks import MINUTE
from assistant.core.due import waiting
from assistant.core.head import Head
from assistant.core.intents import Intent
from assistant.core.mix import mix_total
from assistant.core.plan_live import MayStart, may_start
from assistant.core.replies import Reply, reply
from assistant.errors import SumError

if TYPE_CHECKING:
    from assistant.core.salon import Salon


def asked_mix(intent: Intent) -> Reply:
    """ "mix forty grams at one to two": the grams read back, then the bowl."""
    ratio = ratio_said(intent.ratio.split())
    assert intent.number is not None  # the phrase has a slot for each
    assert ratio is not None
    try:
        weighed = mix_total(intent.number, ratio)
    except SumError:  # a gram or two: the colour in it is less than the scale shows
        return reply("mix_unclear")
    return reply(
        "mix_asked",
        grams=intent.number,
        ratio=ratio.spoken(),
        colour=round(weighed.colour_grams),
        developer=round(weighed.developer.grams),
    )


def start_now(salon: Salon, intent: Intent, at: float) -> Reply:
    """ "can I start chair three now": by the heads that are running."""
    chair = intent.chair or 0
    head = salon.heads.get(chair)
    if head is None or not head.active:
        return reply("start_no_recipe", chair=chair)
    if head.running() or head.step().stage > 0:
        return reply("start_begun", chair=chair)
    others = [other for other in salon.heads.values() if other is not head]
    return _start_reply(chair, may_start(head.recipe, chair, others, at, salon.rule))


def _start_reply(chair: int, answer: MayStart) -> Reply:
    if answer.now:
        return reply("start_yes", chair=chair)
    if answer.because_of is None:
        return reply("start_no", chair=chair)
    if answer.late_anyway:
        return reply("start_late", chair=answer.because_of)
    if answer.in_minutes is None:
        return reply("start_no", chair=chair)
    return reply("start_later", chair=chair, wait=answer.in_minutes, other=answer.because_of)


def toner_when(head: Head, intent: Intent, at: float) -> list[Reply]:
    """ "when does the toner go on", "when do the ends go on": best, and at the latest."""
    still = waiting(head)
    names = [one.zone for one in still]
    zone = intent.zone or next((r.zone.name for r in head.zones() if _waits(r.zone.name, head)), "")
    if zone and zone not in names:
        run = head.zone(zone)
        on = run is not None and run.on_at is not None
        return [reply("goes_on_already" if on else "goes_on_never", zone=zone)]
    if not zone:
        return [_after_rinse(head)]
    found = plan_head.start_range(
        head.stage(), [head.clock(run) for run in head.running()], still[names.index(zone) :]
    )
    if found.latest is None or found.latest == float("inf"):
        return [reply("goes_on_next", zone=zone)]
    if found.missed or found.latest < at:
        return [reply("goes_on_missed", zone=zone)]
    latest = numbers.minutes(found.latest - at)
    best = found.best if found.best is not None else at
    wait = max(0, round((min(best, found.latest) - at) / MINUTE))
    if wait == 0:
        return [reply("goes_on_now", zone=zone, latest=latest)]
    return [reply("goes_on_in", zone=zone, wait=wait, latest=max(wait, latest))]


def _waits(name: str, head: Head) -> bool:
    run = head.zone(name)
    return run is not None and run.waiting and run.zone.wait_for_start


def _after_rinse(head: Head) -> Reply:
    """A toner of its own stage goes on once everything before it is rinsed."""
    later = head.recipe.stages[head.step().stage + 1 :]
    if not later:
        return reply("goes_on_nothing")
    window = head.rinse_window()
    if window is None:
        return reply("goes_on_after", stage=later[0].name)
    return reply("goes_on_after_rinse", stage=later[0].name, zone=window.closed_by)

"""Invented services as timelines: an ordinary one, four heads at once, and everything amiss."""

from __future__ import annotations

from assistant.core.events import Priority
from assistant.core.timeline import (
    Happening,
    HeadLane,
    HeardMark,
    SaidMark,
    StageBand,
    StrandCheck,
    Timeline,
    ZoneBar,
)

M = 60.0
ZONES = ("nape", "crown", "left side", "right side", "face frame")


def bar(
    zone: str, began: float, on: float, window: tuple[float, float, float], rinse: float | None
) -> ZoneBar:
    """A zone in minutes: its pass, its window after being on, its rinse (2 minutes long)."""
    check, target, limit = window
    return ZoneBar(
        zone,
        pass_began_at=began * M,
        on_at=on * M,
        check_at=(on + check) * M,
        target_at=(on + target) * M,
        limit_at=(on + limit) * M,
        rinsing_at=None if rinse is None else rinse * M,
        rinsed_at=None if rinse is None else (rinse + 2) * M,
    )


def with_checks(zone: ZoneBar, *checks: tuple[float, str]) -> ZoneBar:
    """The same zone with strand checks at minutes."""
    made = tuple(StrandCheck(at * M, answer) for at, answer in checks)
    ready = next((check.at for check in made if check.answer == "ready"), None)
    return ZoneBar(
        zone.zone, zone.pass_began_at, zone.on_at, zone.check_at, zone.target_at, zone.limit_at,
        ready, zone.rinsing_at, zone.rinsed_at, checks=made,
    )  # fmt: skip


def head(
    chair: int, start: float, recipe: str = "Root stretch, demi-permanent on damp hair"
) -> HeadLane:
    """Five zones from `start` on, one rinse for all."""
    zones, at = [], start + 5
    for place, name in enumerate(ZONES):
        window = (14 - 1.5 * place, 20 - 2 * place, 25.0)
        zones.append(bar(name, at, at + 2.5, window, start + 28 + 0.8 * place))
        at += 2.9
    zones[0] = with_checks(zones[0], (start + 22, "give it 5"), (start + 27, "ready"))
    zones[1] = with_checks(zones[1], (start + 23, "not ready"), (start + 27, "ready"))
    closes = min(zone.limit_at or 0 for zone in zones)
    opens = max(zone.check_at or 0 for zone in zones)
    band = StageBand("stretch", tuple(zones), opens, closes, "nape")
    return HeadLane(chair, chair, recipe, start * M, (start + 41) * M, (band,))


def talk(chair: int, start: float) -> tuple[list[SaidMark], list[HeardMark]]:
    """Guidance and calls of a head."""
    said = [
        SaidMark((start + at) * M, chair, Priority.GUIDE, "Next, the crown.")
        for at in (0.2, 0.5, 1, 1.6, 2.2, 3, 4, 4.9, 7.5, 10.4, 13.3, 16.2, 19.1, 28, 32, 36)
    ]
    calls = ((21.5, Priority.CHECK), (22.4, Priority.CHECK), (26.8, Priority.DUE))
    said += [SaidMark((start + at) * M, chair, p, "Nape. Check a strand.") for at, p in calls]
    heard = [
        HeardMark((start + at) * M, chair, "that's on")
        for at in (0.1, 1.2, 2, 2.9, 4.7, 7.4, 10.3, 13.2, 16.1, 19, 22, 23, 27, 28, 34)
    ]
    return said, heard


def one_head() -> Timeline:
    """An ordinary service."""
    said, heard = talk(1, 0)
    heard.append(HeardMark(8.8 * M, 1, "", understood=False))
    return Timeline(
        "Root stretch with one client", 42 * M, (head(1, 0),), tuple(said), tuple(heard)
    )


def four_heads() -> Timeline:
    """Four chairs, started one after the other."""
    starts = {1: 0.0, 2: 14.0, 3: 33.0, 4: 47.0}
    said, heard = [], []
    for chair, start in starts.items():
        more_said, more_heard = talk(chair, start)
        said += more_said
        heard += more_heard
    said.append(SaidMark(20 * M, None, Priority.DUE, "Microphone lost. Clocks go on."))
    happenings = (Happening(20 * M, "microphone lost"), Happening(21 * M, "microphone back"))
    heads = tuple(head(chair, start) for chair, start in starts.items())
    return Timeline("Four chairs", 89 * M, heads, tuple(said), tuple(heard), happenings)


def long_day() -> Timeline:
    """Two and a half hours and a greeting to the room."""
    said, heard = talk(1, 108)
    greeting = SaidMark(0.0, None, Priority.GUIDE, "I am listening.")
    heard.append(HeardMark(2 * M, None, "what is due"))
    heads = (head(1, 108, "Second service of the afternoon"),)
    return Timeline("Two and a half hours", 150 * M, heads, (greeting, *said), tuple(heard))


def amiss() -> Timeline:
    """Over the limit, refused, stopped, left out, no single rinse, burning, a toner after it."""
    late = with_checks(
        bar("back left", 3, 8, (20, 30, 35), 47),
        (28, "not ready"), (28.2, "give it 13"), (28.4, "give it 30: refused"), (38, "give it 5"),
    )  # fmt: skip
    short = bar("front left", 20, 26, (25, 30, 35), None)
    stopped = ZoneBar(
        "front right", 27 * M, 33 * M, 58 * M, 63 * M, 68 * M, stopped_at=50 * M,
    )  # fmt: skip
    out = ZoneBar("parting", left_out=True)
    foils = StageBand("foils", (late, short, stopped, out), 51 * M, 43 * M, "back left")
    tone = StageBand(
        "toner",
        (with_checks(bar("lengths", 62, 65, (3, 5, 10), 71), (69, "ready")), ZoneBar("ends")),
        68 * M, 75 * M, "lengths",
    )  # fmt: skip
    first = HeadLane(1, 1, "Highlights in foils, a clock per quarter", 0, None, (foils, tone))
    regrowth = (bar("parting", 14, 18, (25, 30, 40), 30),)
    burned = HeadLane(
        2, 2, "Regrowth touch-up", 10 * M, 40 * M,
        (StageBand("regrowth", regrowth, 43 * M, 58 * M, "parting"),),
        burns_at=29.8 * M,
    )  # fmt: skip
    said = [SaidMark(43 * M + 10 * n, 1, Priority.LIMIT, "Back left. Limit.") for n in range(24)]
    said += [SaidMark(38 * M, 1, Priority.DUE, "Due."), SaidMark(29.9 * M, 2, Priority.LIMIT, "!")]
    happenings = tuple(
        Happening((24 + 0.3 * n) * M, f"{name} lost")
        for n, name in enumerate(("microphone", "loudspeaker", "disk", "power", "program"))
    )
    return Timeline("Everything amiss", 76 * M, (first, burned), tuple(said), (), happenings)

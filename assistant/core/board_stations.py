"""How do several devices, each with its own chairs and its own time, become one board?

A device's chair one is the salon's chair `first_chair`. Its times are moved onto the board's
own line by the moment its news came. A device that says nothing any more is told as silent; its
last known clocks are still shown, for product goes on working while a network is gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import chain

from assistant.core.board_frame import Frame
from assistant.core.events import Priority
from assistant.core.snapshot import DueView, HeadView, SalonView, ZoneView

SILENT_SECONDS = 6.0  # a device gives a beat every second
MOST_CHAIRS = 12


@dataclass(frozen=True, slots=True)
class Station:
    """The newest news of one device, already on the board's line of time.

    `alive` is False from a goodbye that the broker spoke for it, or as long as it is not known
    how old its news is: it was kept by the broker from before.
    """

    first_chair: int
    frame: Frame
    came_at: float
    alive: bool = True

    def silent(self, now: float) -> bool:
        """Whether its news may be trusted no more."""
        return not self.alive or now - self.came_at > SILENT_SECONDS


def station(first_chair: int, frame: Frame, now: float, age: float | None = None) -> Station:
    """News that came at `now`; `ValueError` if it cannot be of a device of ours.

    `age`: the broker had it from before, for so many seconds by the clocks of two machines.
    """
    if type(first_chair) is not int or not 1 <= first_chair <= MOST_CHAIRS:
        raise ValueError(f"no chair {first_chair!r}")
    try:
        moved = _moved(frame.view, now - (age or 0.0) - frame.view.at, first_chair - 1)
    except TypeError as error:
        raise ValueError(f"not a board's frame: {error}") from error
    made_at = now - (age or 0.0)
    return Station(first_chair, replace(frame, view=moved), made_at, alive=age is None)


def merged(stations: Iterable[Station], now: float, beat: int, lost: Iterable[str] = ()) -> Frame:
    """One frame of all of them, the most urgent first; `lost` besides what they have lost."""
    known = sorted(stations, key=lambda one: one.first_chair)
    views = [one.frame.view for one in known]
    gone = [one for one in known if one.silent(now)]
    due = sorted(
        chain((_silent(one) for one in gone), *(view.due for view in views)),
        key=lambda view: (not view.up, view.priority if view.up else 0, view.at),
    )
    away = [f"{d} of chair {one.first_chair}" for one in known for d in one.frame.view.lost]
    newest = max(known, key=lambda one: one.came_at, default=None)
    return Frame(
        beat,
        SalonView(
            now,
            "open",
            tuple(head for view in views for head in view.heads),
            tuple(due),
            (*lost, *away, *(f"chair {one.first_chair} is silent" for one in gone)),
            max((view.quiet_until for view in views), default=0.0),
        ),
        newest.frame.heard if newest else "",
        newest.frame.said if newest else "",
    )


def _silent(one: Station) -> DueView:
    words = "device is silent, look"
    return DueView(
        one.first_chair, "silent", words, words, "", int(Priority.DUE), one.came_at, up=True
    )


def _moved(view: SalonView, by: float, chairs: int) -> SalonView:
    """The same view on another line of time, with the salon's numbers of chairs."""
    return replace(
        view,
        at=view.at + by,
        heads=tuple(_head(head, by, chairs) for head in view.heads),
        due=tuple(
            replace(one, at=one.at + by, chair=None if one.chair is None else one.chair + chairs)
            for one in view.due
        ),
        quiet_until=view.quiet_until + by,
    )


def _head(head: HeadView, by: float, chairs: int) -> HeadView:
    opens, closes = _later((head.window_opens, head.window_closes), by)
    return replace(
        head,
        chair=head.chair + chairs,
        zones=tuple(_zone(zone, by) for zone in head.zones),
        window_opens=opens,
        window_closes=closes,
    )


def _zone(zone: ZoneView, by: float) -> ZoneView:
    moments = _later((zone.on_at, zone.check_at, zone.target_at, zone.limit_at), by)
    on_at, check_at, target_at, limit_at = moments
    return replace(zone, on_at=on_at, check_at=check_at, target_at=target_at, limit_at=limit_at)


def _later(moments: Iterable[float | None], by: float) -> Iterator[float | None]:
    return (None if moment is None else moment + by for moment in moments)

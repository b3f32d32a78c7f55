"""What does a board show at one moment? The salon's view with the hub's own beat, as JSON values.

The beat is made on the hub's thread alone. A board whose beat stands still is stale, however
alive the server is that hands it out.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from assistant.core.snapshot import DueView, HeadView, SalonView, ZoneView


@dataclass(frozen=True, slots=True)
class Frame:
    """One look at the salon. `speed`: salon seconds in one second of the wall."""

    beat: int
    view: SalonView
    heard: str = ""
    said: str = ""
    speed: float = 1.0
    over: bool = False  # the session has ended: nothing more will come


def encode(frame: Frame) -> dict[str, Any]:
    """Plain values for JSON."""
    return asdict(frame)


def decode(plain: dict[str, Any]) -> Frame:
    """The frame of `encode`; `ValueError` if it is something else."""
    try:
        view = plain["view"]
        heads = tuple(
            HeadView(**{**head, "zones": tuple(ZoneView(**zone) for zone in head["zones"])})
            for head in view["heads"]
        )
        due = tuple(DueView(**one) for one in view["due"])
        lost = tuple(str(device) for device in view["lost"])
        whole = SalonView(**{**view, "heads": heads, "due": due, "lost": lost})
        return Frame(**{**plain, "view": whole})
    except (KeyError, TypeError) as error:
        raise ValueError(f"not a board's frame: {error}") from error

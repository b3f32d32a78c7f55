"""How long were we away? Judged from two moments, each holding every reading of time we have.

Rule: a reading that may be wrong is never allowed to make an alarm later; whatever cannot be
trusted is answered with the longer absence and `certain=False`.
"""

from __future__ import annotations

from dataclasses import dataclass

LONGEST_AWAY = 12 * 3600.0  # a longer gap is more likely a wrong clock than a client still waiting


@dataclass(frozen=True, slots=True)
class Moment:
    """All readings taken together. Every journal record carries one."""

    salon: float  # seconds on the session's own line
    utc: float  # seconds since 1970, may be stepped by anybody
    boottime: float  # seconds since the machine started, counts sleep, never stepped
    boot_id: str  # another one after every start of the machine; "" if unknown
    rtc: bool = True  # a battery-backed clock keeps UTC while the machine is off


@dataclass(frozen=True, slots=True)
class Away:
    """Length of an absence, and whether it can be trusted."""

    seconds: float
    certain: bool


def away_between(last: Moment, now: Moment) -> Away:
    """Absence from the last record to now."""
    same_boot = bool(now.boot_id) and now.boot_id == last.boot_id
    ticked = now.boottime - last.boottime
    if same_boot and ticked >= 0:
        return Away(ticked, certain=True)
    return _by_calendar(last, now)


def _by_calendar(last: Moment, now: Moment) -> Away:
    """Another boot: only UTC spans it. Being up for ten minutes, we were away at least ten."""
    least = max(0.0, now.boottime if now.boot_id != last.boot_id else 0.0)
    seconds = now.utc - last.utc
    plausible = least <= seconds <= LONGEST_AWAY
    sources_good = now.rtc and bool(now.boot_id) and bool(last.boot_id)
    certain = plausible and sources_good and now.boot_id != last.boot_id
    return Away(min(max(seconds, least), max(LONGEST_AWAY, least)), certain)

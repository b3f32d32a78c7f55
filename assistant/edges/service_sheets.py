"""Writes the record of a service as a sheet to read: planned and real times per zone, who, when."""

from __future__ import annotations

from pathlib import Path

from assistant.core.head import Head
from assistant.core.head_file import ZoneRun
from assistant.core.script import mmss
from assistant.edges import whole_files


class ServiceSheets:
    """One Markdown sheet per head in a folder."""

    def __init__(self, folder: Path) -> None:
        """Sheets go into `folder`, made when the first one is written."""
        self._folder = folder

    def write(self, head: Head) -> None:
        """Write (or write anew) the sheet of a head."""
        path = self._folder / sheet_name(head.number, head.chair)
        whole_files.write(path, sheet(head), private=True)


def sheet_name(number: int, chair: int) -> str:
    """What the sheet of a head is called."""
    return f"head-{number:02d}-chair-{chair}.md"


def sheet(head: Head) -> str:
    """The record of a head as Markdown; times are minutes and seconds of the session."""
    file, recipe = head.file, head.recipe
    lines = [f"# Chair {head.chair}: {recipe.title}", ""]
    if file.client is not None:
        lines += [f"Client {file.client.name}.", ""]
    lines += [f"Opened {mmss(file.opened_at)}, state: {head.state}.", ""]
    if file.stopped_why:
        lines += [f"**Stopped: {file.stopped_why.replace('_', ' ')}**", ""]
    lines += ["## Asked before", ""]
    lines += [f"- {question}: {answer}" for question, answer in file.gate.items()]
    lines += ["", "## Mixed", ""]
    lines += [f"- {bowl} at {mmss(at)}" for (_, bowl), at in file.mixed.items()]
    lines += ["", "## Zones", ""]
    lines += ["| zone | pass | on | checks | rinse | minutes on | planned (from/target/limit) |"]
    lines += ["|---|---|---|---|---|---|---|"]
    lines += [_zone_row(head, run) for run in file.zones]
    lines += ["", "## Notes for the next visit", ""]
    lines += [f"- {note}" for note in file.notes] or ["- none"]
    lines += ["", "## Result", ""]
    lines += [f"- {what}: {how}" for what, how in file.outcome.items()] or ["- not said"]
    return "\n".join([*lines, ""])


def _zone_row(head: Head, run: ZoneRun) -> str:
    window = run.zone.window
    planned = (
        f"{window.check_from_minutes:g}/{window.target_minutes:g}/{window.limit_minutes:g} "
        f"({window.source}, grade {window.grade})"
    )
    if run.left_out:
        return f"| {run.zone.name} | left out | | | | | {planned} |"
    off = run.rinsed_at if run.rinsed_at is not None else run.stopped_at
    minutes = f"{(off - run.on_at) / 60:.1f}" if off is not None and run.on_at is not None else ""
    checks = "; ".join(f"{mmss(at)} {answer}" for at, answer in run.checks)
    return (
        f"| {run.zone.name} | {_time(run.pass_began_at)} | {_time(run.on_at)} | {checks} "
        f"| {_time(run.rinsing_at)}-{_time(off)} | {minutes} | {planned} |"
    )


def _time(at: float | None) -> str:
    return mmss(at) if at is not None else "-"

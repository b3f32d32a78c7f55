"""How does a stored record look outside? Markdown, HTML, CSV and JSON."""

from __future__ import annotations

import csv
import html
import io
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from assistant.core.record import WRITTEN
from assistant.core.script import mmss
from assistant.edges.records import Stored

_COLUMNS = (
    "stage name technique check_minutes target_minutes limit_minutes source pass_at on_at "
    "rinsing_at off_at left_out checks"
).split()
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_json(records: Sequence[Stored]) -> str:
    """Everything, with every old value."""
    plain = [
        {
            "id": record.id,
            "day": day_of(record),
            "session": record.session,
            "service": record.service,
            "written": record.written(),
            "entries": [[e.utc, e.field, e.value, e.who] for e in record.entries],
        }
        for record in records
    ]
    return json.dumps(plain, ensure_ascii=False, indent=2) + "\n"


def as_csv(records: Sequence[Stored]) -> str:
    """One row for each zone, what people wrote repeated in each."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["record", "day", "chair", "recipe", *_COLUMNS, *WRITTEN])
    for record in records:
        written = record.written()
        for zone in record.service["zones"]:
            head = [record.id, day_of(record), record.service["chair"], record.service["recipe"]]
            row = [*head, *(zone[key] for key in _COLUMNS), *(written.get(f, "") for f in WRITTEN)]
            writer.writerow([_harmless(cell) for cell in row])
    return out.getvalue()


def as_html(record: Stored) -> str:
    """The sheet as one page that needs nothing else."""
    title = html.escape(f"Record {record.id}")
    return (
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{title}</title>'
        f'<body><pre style="white-space:pre-wrap">{html.escape(as_markdown(record))}</pre></body>'
        "</html>\n"
    )


def as_markdown(record: Stored) -> str:
    """One sheet to read."""
    service, written = record.service, record.written()
    lines = [f"# Record {record.id}: {service['recipe']}", ""]
    lines += [f"{day_of(record)}, chair {service['chair']}, state: {service['state']}.", ""]
    if service["stopped_why"]:
        lines += [f"**Stopped: {service['stopped_why'].replace('_', ' ')}**", ""]
    lines += ["## Client and consultation", ""]
    lines += [f"- {name}: {_one_line(written.get(name, '(not written)'))}" for name in WRITTEN]
    lines += ["", "## Asked before", "", *(f"- {q}: {a}" for q, a in service["gate"])]
    lines += ["", "## Bowls", "", *map(_bowl, service["bowls"])]
    lines += ["", "## Zones in the order they were put on", "", *map(_zone, service["zones"])]
    lines += ["", "## Noted by voice for the next visit", ""]
    lines += [f"- {note}" for note in service["notes"]] or ["- none"]
    lines += ["", "## Home care", "", *([f"- {c}" for c in service["home_care"]] or ["- none"])]
    return "\n".join([*lines, *_corrected(record), ""])


def day_of(record: Stored) -> str:
    """The day of a record, in UTC."""
    return datetime.fromtimestamp(record.first_utc, UTC).date().isoformat()


def _bowl(bowl: dict[str, Any]) -> str:
    return (
        f"- {bowl['name']}: {bowl['product']} {bowl['shade']} {bowl['ratio']}, "
        f"{bowl['developer_percent']:g} %, {bowl['grams']:g} g, mixed {_time(bowl['mixed_at'])}"
    )


def _zone(zone: dict[str, Any]) -> str:
    plan = "/".join(f"{zone[k]:g}" for k in ("check_minutes", "target_minutes", "limit_minutes"))
    planned = f"planned {plan} min ({zone['source']})"
    if zone["left_out"]:
        return f"- {zone['name']}: left out, {planned}"
    on, off = zone["on_at"], zone["off_at"]
    real = f"{(off - on) / 60:.1f} min" if on is not None and off is not None else "not finished"
    checks = "; ".join(f"{mmss(at)} {answer}" for at, answer in zone["checks"]) or "none"
    return (
        f"- {zone['name']}: on {_time(on)}, off {_time(off)}, {real}; {planned}; checks: {checks}; "
        f"technique: {zone['technique']}"
    )


def _corrected(record: Stored) -> list[str]:
    valid = {entry.field: entry for entry in record.entries}
    old = [entry for entry in record.entries if valid[entry.field] is not entry]
    if not old:
        return []
    rows = [f"- {e.field} was: {_one_line(e.value)}{f' ({e.who})' if e.who else ''}" for e in old]
    return ["", "## Corrected", "", *rows]


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _harmless(cell: object) -> object:
    """A spreadsheet must not take what somebody wrote for a formula."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell


def _time(at: float | None) -> str:
    return mmss(at) if at is not None else "-"

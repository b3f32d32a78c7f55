"""How does a stored record look outside? Markdown, HTML, CSV and JSON."""

from __future__ import annotations

import csv
import html
import io
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from assistant.core.consultation import fact_words
from assistant.core.record import WRITTEN
from assistant.core.script import mmss
from assistant.edges.alert_tests import AlertTest
from assistant.edges.record_rows import Stored

_COLUMNS = (
    "stage name bowl technique tools depth_cm section_mm apply_minutes check_minutes "
    "target_minutes limit_minutes source pass_at on_at rinsing_at off_at left_out checks"
).split()
_HEAD = ("record", "day", "chair", "recipe", "client heard", "order")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def as_json(records: Sequence[Stored], tests: Sequence[AlertTest] = ()) -> str:
    """Everything, with every old value."""
    plain = [
        {
            "id": record.id,
            "day": record.day.isoformat(),
            "session": record.session,
            "client": record.client,
            "service": record.service,
            "consultation": record.asked,
            "written": record.written(),
            "entries": [[e.utc, e.field, e.value, e.who] for e in record.entries],
        }
        for record in records
    ]
    made = [{**asdict(test), "day": test.day.isoformat()} for test in tests]
    return json.dumps({"records": plain, "alert tests": made}, ensure_ascii=False, indent=2) + "\n"


def as_csv(records: Sequence[Stored]) -> str:
    """One row for each zone in the order of application, what people wrote repeated in each."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([*_HEAD, *_COLUMNS, *WRITTEN])
    for record in records:
        service, written = record.service, record.written()
        for order, zone in enumerate(service["zones"], 1):
            heard = service.get("client", "")
            head = [record.id, record.day, service["chair"], service["recipe"], heard, order]
            row = [*head, *(zone.get(key, "") for key in _COLUMNS)]
            row += [written.get(field, "") for field in WRITTEN]
            writer.writerow([_harmless(cell) for cell in row])
    return out.getvalue()


def as_html(record: Stored) -> str:
    """The sheet as one page that needs nothing else."""
    title = html.escape(f"Record {record.id}")
    body = "\n".join(_as_page(as_markdown(record).splitlines()))
    return (
        '<!doctype html><html lang="en"><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width">'
        f"<title>{title}</title><style>body{{font:1rem/1.5 sans-serif;max-width:45rem;"
        f"margin:2rem auto;padding:0 1rem}}</style><body>\n{body}\n</body></html>\n"
    )


def _as_page(lines: Sequence[str]) -> Iterator[str]:
    marks = {"# ": "h1", "## ": "h2", "- ": "li"}
    listing = False
    for line in filter(None, lines):
        start = next((mark for mark in marks if line.startswith(mark)), "")
        tag, text = marks.get(start, "p"), html.escape(line.removeprefix(start))
        if listing != (tag == "li"):
            listing = not listing
            yield "<ul>" if listing else "</ul>"
        yield f"<{tag}>{text}</{tag}>"
    if listing:
        yield "</ul>"


def as_markdown(record: Stored) -> str:
    """One sheet to read."""
    service, written = record.service, record.written()
    lines = [f"# Record {record.id}: {service['recipe']}", "", _began(record), ""]
    if service["stopped_why"]:
        lines += [f"Stopped: {service['stopped_why'].replace('_', ' ')}", ""]
    lines += ["## Written by people", ""]
    lines += [f"- {name}: {_one_line(written[name])}" for name in WRITTEN if name in written]
    lines += [f"- not written: {', '.join(name for name in WRITTEN if name not in written)}"]
    lines += ["", "## Consultation", ""]
    lines += _items(f"{fact_words(name)}: {answer}" for name, answer in record.asked.items())
    lines += ["", "## Asked before", "", *_items(f"{q}: {a}" for q, a in service["gate"])]
    lines += ["", "## Bowls", "", *map(_bowl, service["bowls"])]
    lines += ["", "## Zones in the order they were put on", "", *map(_zone, service["zones"])]
    lines += ["", "## Comfort and incidents", "", *_items(_felt(service))]
    lines += ["", "## Result as it was said", ""]
    lines += _items(f"{what}: {how}" for what, how in service.get("outcome", ()))
    lines += ["", "## Noted by voice for the next visit", "", *_items(service["notes"])]
    explained = service.get("home_care_at")
    told = (
        f"explained at {mmss(explained)}"
        if explained is not None
        else "nobody said that it was explained"
    )
    lines += ["", f"## Home care ({told})", "", *_items(service["home_care"])]
    return "\n".join([*lines, *_corrected(record), ""])


def _began(record: Stored) -> str:
    service = record.service
    client = service.get("client") or "not named by voice"
    took = ""
    if service.get("ended_at") is not None:
        took = f", {(service['ended_at'] - service['opened_at']) / 60:.0f} minutes in all"
    return (
        f"{record.day}, chair {service['chair']}, client {client}, state: {service['state']}{took}."
    )


def _felt(service: dict[str, Any]) -> Iterator[str]:
    yield from (f"{mmss(at)} asked, comfortable" for at in service.get("comfort", ()))
    yield from (f"{mmss(at)} {what}" for at, what in service.get("incidents", ()))


def _items(texts: Any) -> list[str]:
    return [f"- {text}" for text in texts] or ["- none"]


def _bowl(bowl: dict[str, Any]) -> str:
    parts = ""
    if bowl.get("colour_grams"):
        parts = f" ({bowl['colour_grams']:g} g colour, {bowl['developer_grams']:g} g developer)"
    source = f"; {bowl['source']}" if bowl.get("source") else ""
    return (
        f"- {bowl['name']}: {bowl['product']} {bowl['shade']} {bowl['ratio']}, "
        f"{bowl['developer_percent']:g} %, {bowl['grams']:g} g{parts}, "
        f"mixed {_time(bowl['mixed_at'])}{source}"
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
        f"- {zone['name']}: on {_time(on)}, off {_time(off)}, {real}; {planned}; "
        f"{_pass(zone)}; checks: {checks}; technique: {zone['technique']}{_how(zone)}"
    )


def _pass(zone: dict[str, Any]) -> str:
    began, on, plan = zone["pass_at"], zone["on_at"], zone.get("apply_minutes")
    real = f"{(on - began) / 60:.1f}" if began is not None and on is not None else "-"
    return f"pass {real} min" + (f", planned {plan:g}" if plan else "")


def _how(zone: dict[str, Any]) -> str:
    if not zone.get("section_mm"):
        return ""
    deep = f"{zone['depth_cm']:g} cm deep" if zone["depth_cm"] else "whole length"
    return f"; {deep}, sections of {zone['section_mm']:g} mm, {zone['tools']}, from {zone['bowl']}"


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

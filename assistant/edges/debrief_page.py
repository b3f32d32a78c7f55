"""A debrief as one page that needs nothing else: sentences, picture, tables, progress.

For the screen and for paper; no script, nothing fetched. Every figure says what it is made of.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from html import escape
from pathlib import Path

from assistant.core.clocks import MINUTE
from assistant.core.debrief import LATE, SILENT, Debrief, debrief
from assistant.core.debrief_words import spoken
from assistant.core.head import Head
from assistant.core.levels import (
    CLEAN_RUNS,
    FADES_AFTER_DAYS,
    Asked,
    Level,
    Run,
    Standing,
    StepName,
    level_words,
    standings,
)
from assistant.core.phrases import Phrases, render
from assistant.core.script import mmss
from assistant.core.timeline import Timeline
from assistant.edges import debrief_progress, drawing, timeline_picture, whole_files
from assistant.edges.debrief_progress import Session
from assistant.edges.debrief_style import STYLE
from assistant.edges.kept_lessons import KeptLesson


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything about one head that the page shows."""

    of: Debrief
    sentences: tuple[str, ...]
    timeline: Timeline
    levels: dict[str, Level]  # as each step was spoken this time
    after: dict[str, Standing]  # where each step stands now
    sessions: tuple[Session, ...]  # the trainee's, this one last


def sheet_of(
    head: Head,
    timeline: Timeline,
    phrases: Phrases,
    kept: Sequence[KeptLesson] = (),
    learned: Sequence[Run] = (),
) -> Sheet:
    """The sheet of a head; `kept` are the trainee's services up to this one, it included.

    `learned` are runs that no record holds: what a rehearsal begins with.
    """
    of = debrief(head)
    told = tuple(render(phrases.phrases[r.phrase], dict(r.values)) for r in spoken(of))
    lesson = head.file.lesson
    levels = dict(lesson.levels) if lesson is not None else {}
    runs = [*learned, *(run for service in kept for run in service.runs())]
    after = standings(runs, max((run.utc for run in runs), default=0.0))
    return Sheet(of, told, timeline, levels, after, debrief_progress.sessions(kept, learned))


def save(sheets: Sequence[Sheet], utc: float, path: Path) -> None:
    """Write the page, whole or not at all; `StoreError` if the disk refuses."""
    whole_files.write(path, page(sheets, utc))


def page(sheets: Sequence[Sheet], utc: float) -> str:
    """The whole page."""
    day = datetime.fromtimestamp(utc, UTC).date().isoformat()
    body = "".join(_sheet(sheet, day) for sheet in sheets)
    policy = "default-src 'none'; style-src 'unsafe-inline'"
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>Debrief, {day}</title>\n<style>{STYLE}</style>\n</head>\n"
        f"<body>\n<main>\n{body}{_made_of()}</main>\n</body>\n</html>\n"
    )


def _sheet(sheet: Sheet, day: str) -> str:
    of = sheet.of
    who = f", trainee {escape(of.trainee)}" if of.trainee else ""
    told = "".join(f"<li>{escape(text)}</li>" for text in sheet.sentences)
    parts = [
        f"<section>\n<h1>Debrief: {escape(of.recipe)}</h1>\n",
        f'<p class="under">Chair {of.chair}, {day}{who}</p>\n',
        f'<ul class="told">{told}</ul>\n',
        f"<figure>{_picture(sheet.timeline)}</figure>\n",
        _order(of),
        _table("Zones", ZONES, _zones(of)),
        _table("From the first clock to the last", SPREADS, _spreads(of)),
        _table("Silences", SILENCES, _silences(of)),
        _table("Questions", QUESTIONS, map(_question, of.questions)),
    ]
    if of.trainee:
        title = "Steps: how they went, and how they are told next"
        parts += [_table(title, STEPS, _steps(sheet)), debrief_progress.part(sheet.sessions)]
    return "".join([*parts, "</section>\n"])


def _picture(timeline: Timeline) -> str:
    """Scaled to the page: its own width and height are left out."""
    picture = timeline_picture.picture(timeline)
    size = f'width="{picture.width:g}" height="{picture.height:g}" role'
    return drawing.svg(picture).replace(size, "role", 1)


def _order(of: Debrief) -> str:
    if not of.early:
        return "<p><b>Order:</b> as in the recipe.</p>\n"
    turns = "; ".join(f"{early.zone} before {early.first}" for early in of.early)
    planned, real = ", ".join(of.planned_order), ", ".join(of.order)
    return (
        f"<p><b>Order:</b> {escape(turns)}. Recipe: {escape(planned)}. Here: {escape(real)}.</p>\n"
    )


# ------------------------------------------------------------------ tables

ZONES = ("zone", "pass", "planned", "first look due", "came", "late", "over its limit")
SPREADS = ("stage", "from", "to", "minutes", "as planned")
SILENCES = ("where", "from", "minutes")
QUESTIONS = ("step", "asked for", "answer", "said", "came to")
STEPS = ("step", "told this time", "went", "why", "next time", "clean in a row")


def _table(title: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>\n" for row in rows
    )
    if not body:
        return ""
    return (
        f"<h2>{escape(title)}</h2>\n<table>\n<thead><tr>{head}</tr></thead>\n"
        f"<tbody>\n{body}</tbody>\n</table>\n"
    )


def _zones(of: Debrief) -> Iterator[Sequence[str]]:
    looks = {look.zone: look for look in of.looks}
    over = {zone.zone: zone.seconds for zone in of.over}
    for one in of.passes:
        look = looks.get(one.zone)
        late = look.late if look is not None else 0.0
        yield (
            one.zone,
            _minutes(one.real) if one.real is not None else "not measured",
            _minutes(one.planned),
            mmss(look.due_at) if look is not None else "-",
            mmss(look.at) if look is not None else "-",
            f"{_minutes(late)}" if late > LATE else "in time" if look is not None else "-",
            _minutes(over[one.zone]) if one.zone in over else "no",
        )


def _spreads(of: Debrief) -> Iterator[Sequence[str]]:
    for one in of.spreads:
        yield one.stage, one.first, one.last, _minutes(one.real), _minutes(one.planned)


def _silences(of: Debrief) -> Iterator[Sequence[str]]:
    for one in of.silences:
        yield one.zone, mmss(one.began_at), _minutes(one.seconds)


def _question(asked: tuple[StepName, Asked]) -> Sequence[str]:
    step, question = asked
    came = "not answered" if question.came == "open" else question.came
    return step.subject, ASKED_FOR[question.about], question.right, question.given or "-", came


ASKED_FOR = {
    "ratio": "ratio",
    "volume": "developer",
    "check": "first look",
    "target": "when it is due",
    "limit": "limit",
}


def _steps(sheet: Sheet) -> Iterator[Sequence[str]]:
    for went in sheet.of.steps:
        key = str(went.step)
        now, next_time = sheet.levels.get(key, Level.READ), sheet.after.get(key, Standing())
        full = next_time.level >= went.step.ceiling
        yield (
            f"{went.step.kind}: {went.step.subject}",
            level_words(went.step, min(now, went.step.ceiling)),
            went.outcome,
            went.why or "-",
            _next(went.step, now, next_time.level),
            "last level" if full else f"{next_time.clean_in_a_row} of {CLEAN_RUNS}",
        )


def _next(step: StepName, now: Level, after: Level) -> str:
    arrow = "up: " if after > now else "down: " if after < now else ""
    return arrow + level_words(step, after)


def _minutes(seconds: float) -> str:
    return f"{seconds / MINUTE:.1f} min"


def _made_of() -> str:
    """What every figure is made of, and what it is not."""
    return (
        "<footer>\n<h2>What these figures are made of</h2>\n<ul>\n"
        "<li>They are times and answers of this service, not a mark for a person. What was "
        "misheard, or not reported, is missing or wrong here too.</li>\n"
        "<li>A pass is measured from &ldquo;starting&rdquo; to &ldquo;is on&rdquo;. Planned "
        "minutes are the recipe&rsquo;s.</li>\n"
        f"<li>A first look is late from {LATE / MINUTE:g} minutes after it was due; in the middle "
        "of a pass it is due at the end of that pass.</li>\n"
        f"<li>A silence is a stretch in which nothing was reported for {SILENT / MINUTE:g} minutes "
        "longer than planned.</li>\n"
        "<li>Clock times are minutes and seconds of the session.</li>\n"
        "<li>Levels of a step: read-do tells it with its reason, challenge asks for a value, told "
        "short leaves out the reason where there is no value to ask for, "
        "silent tells only clocks, checks and calls.</li>\n"
        f"<li>A step goes up one level after {CLEAN_RUNS} clean runs in a row, down one after an "
        "error (a wrong value, a zone before its turn, a limit passed) and for every "
        f"{FADES_AFTER_DAYS} days without it. Untidy (skipped, looked up, late) only starts the "
        "count again. The safety gate, a bowl&rsquo;s numbers, checks, limits and rinses are "
        "always spoken.</li>\n"
        "<li>Times in recipes are examples: the leaflet of the product in hand comes first.</li>\n"
        "</ul>\n</footer>\n"
    )

"""How does a trainee get on? One bar and one row for each kept service, oldest first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from html import escape

from assistant.core.clocks import MINUTE
from assistant.core.levels import LEVEL_WORDS, SHORT, Level, Run, standings
from assistant.edges import drawing
from assistant.edges.drawing import Box, Part, Picture, Words
from assistant.edges.kept_lessons import KeptLesson

SHOWN = 12  # the latest; older ones are counted in words
_WIDTH, _ROW, _LEFT = 760.0, 30.0, 190.0
_FILLS = {Level.READ: "#ffffff", Level.CHALLENGE: "#c9d6e4", Level.SILENT: "#2f4b6e"}
_INKS = {Level.READ: "#1a1a1a", Level.CHALLENGE: "#1a1a1a", Level.SILENT: "#ffffff"}
KEY = {**LEVEL_WORDS, Level.CHALLENGE: f"{LEVEL_WORDS[Level.CHALLENGE]}, or {SHORT}"}
HEADS = (
    "day",
    "recipe",
    "right answers",
    "zones early",
    "first looks late",
    "over a limit",
    "passes",
    "planned",
    "clocks within",
    "silences",
)


@dataclass(frozen=True, slots=True)
class Session:
    """One kept service, with how many of its steps were told how."""

    lesson: KeptLesson
    told: dict[Level, int]


def sessions(lessons: Sequence[KeptLesson], learned: Sequence[Run] = ()) -> tuple[Session, ...]:
    """Each service with the levels as they stood when it began."""
    found = []
    for index, lesson in enumerate(lessons):
        before = [*learned, *(run for earlier in lessons[:index] for run in earlier.runs())]
        stood = standings(before, lesson.utc)
        steps = {run.step for run in lesson.runs()}
        levels = (stood[step].level if step in stood else Level.READ for step in steps)
        found.append(Session(lesson, dict(Counter(levels))))
    return tuple(found)


def part(every: Sequence[Session]) -> str:
    """The part of the page; empty while there is nothing kept."""
    if not every:
        return ""
    shown = every[-SHOWN:]
    older = len(every) - len(shown)
    note = f"<p>{older} older services are kept and counted, not shown.</p>\n" if older else ""
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in HEADS)
    rows = "".join(f"<tr>{_row(session)}</tr>\n" for session in shown)
    return (
        f"<h2>Progress over {len(every)} kept service{'s' * (len(every) != 1)}</h2>\n"
        "<p>How many steps of each service were told how:</p>\n"
        f'<figure class="progress">{_bars(shown)}</figure>\n{note}'
        f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n"
    )


def _row(session: Session) -> str:
    facts = session.lesson.facts
    cells = (
        _day(session),
        session.lesson.recipe,
        f"{facts['answers_right']} of {facts['answers_asked']}" if facts["answers_asked"] else "-",
        str(facts["early_zones"]),
        f"{facts['looks_late']} of {facts['looks']}",
        str(facts["zones_over"]),
        f"{facts['pass_real'] / MINUTE:.1f} min",
        f"{facts['pass_planned'] / MINUTE:.1f} min",
        f"{facts['spread'] / MINUTE:.1f} min",
        str(facts["silences"]),
    )
    return "".join(f"<td>{escape(cell)}</td>" for cell in cells)


def _bars(shown: Sequence[Session]) -> str:
    """How many steps were told in full, asked, or left silent."""
    most = max(sum(session.told.values()) for session in shown)
    parts: list[Part] = list(_key())
    y = 34.0
    for session in shown:
        parts.append(Words(0, y + 17, f"{_day(session)} {session.lesson.recipe}", 13))
        x = _LEFT
        for level in Level:
            count = session.told.get(level, 0)
            width = (_WIDTH - _LEFT - 4) * count / max(1, most)
            if count:
                parts.append(Box(x, y, width, _ROW - 8, _FILLS[level], "#1a1a1a"))
                ink = _INKS[level]
                parts.append(Words(x + width / 2, y + 16, str(count), 13, "middle", colour=ink))
            x += width
        y += _ROW
    title = "Steps by how they were told, for each service"
    about = "; ".join(_in_words(session) for session in shown)
    picture = Picture(_WIDTH, y + 2, tuple(parts), title, about)
    size = f'width="{picture.width:g}" height="{picture.height:g}" role'
    return drawing.svg(picture).replace(size, "role", 1)


def _key() -> Iterator[Part]:
    x = _LEFT
    for level in Level:
        yield Box(x, 4, 16, 16, _FILLS[level], "#1a1a1a")
        yield Words(x + 22, 17, KEY[level], 13)
        x += 120 if level == Level.READ else 230


def _in_words(session: Session) -> str:
    told = ", ".join(f"{session.told.get(level, 0)} {LEVEL_WORDS[level]}" for level in Level)
    return f"{_day(session)}: {told}"


def _day(session: Session) -> str:
    return datetime.fromtimestamp(session.lesson.utc, UTC).date().isoformat()

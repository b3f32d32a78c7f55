"""Where does a session's journal lie, and is one of today unfinished?

A folder for each day, in it journals by number and beside each the sheets of its clients.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from assistant.core.events import SessionStarted
from assistant.core.head import Head
from assistant.core.intents import Words
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.edges import journal, recipe_files
from assistant.edges.journal_lines import Record
from assistant.errors import ConfigError

STORE = "records.db"
RECENT = (0, 1)  # days back: a session may cross midnight


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A session in which somebody still sits in a chair."""

    journal: Path
    heads: tuple[Head, ...]

    def __str__(self) -> str:
        """ "chair 1: root tap, chair 3: root melt"."""
        return ", ".join(f"chair {head.chair}: {head.recipe.name}" for head in self.heads)


def of_day(sessions: Path, day: date) -> Path:
    """The folder of a day."""
    return sessions / day.isoformat()


def sheets_beside(journal_file: Path) -> Path:
    """Where the sheets of a session lie."""
    return journal_file.with_suffix("")


def store_of(journal_file: Path) -> Path:
    """The salon's one record store, above the folders of the days."""
    return journal_file.parent.parent / STORE


def name_of(journal_file: Path) -> str:
    """What a session is called in the record store: its day and its number."""
    return f"{journal_file.parent.name}/{journal_file.stem}"


def unfinished(sessions: Path, today: date, words: Words, rule: SalonRule) -> Unfinished | None:
    """The newest session of today (or of last night) that is not over."""
    for back in RECENT:
        folder = of_day(sessions, today - timedelta(days=back))
        newest = journal.latest(folder) if folder.is_dir() else None
        if newest is None:
            continue
        records, _ = journal.read(newest)
        heads = tuple(h for h in _folded(records, words, rule).heads.values() if h.active)
        return Unfinished(newest, heads) if heads else None
    return None


def has_begun(path: Path) -> bool:
    """Whether a journal says how its session began: one killed in its first moment does not."""
    return _beginning(journal.read(path)[0]) is not None


def started_with(records: Sequence[Record]) -> SessionStarted:
    """How a session began; `ConfigError` if its journal does not say."""
    first = _beginning(records)
    if first is None:
        raise ConfigError("this journal has no beginning: start anew with --new")
    return first


def _beginning(records: Sequence[Record]) -> SessionStarted | None:
    first = records[0].event if records else None
    return first if isinstance(first, SessionStarted) else None


def _folded(records: Sequence[Record], words: Words, rule: SalonRule) -> Salon:
    if not records:
        return Salon(words, {}, 1, rule)
    start = started_with(records)
    recipes, _ = recipe_files.from_texts(start.recipes)
    salon = Salon(words, recipes, start.chairs, rule)
    for record in records:
        salon.step(record.event)
    return salon

"""What do the kept records say of a trainee? The runs that levels and progress are made of.

There is no second book: a level is derived from the finished services, so correcting or
deleting a record corrects the level too.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from assistant.core.levels import CLEAN_RUNS, Level, Outcome, Run, Standing, standings
from assistant.edges.record_lock import Key
from assistant.edges.records import RecordStore, Stored
from assistant.errors import AssistantError

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class KeptLesson:
    """One finished service of a trainee."""

    session: str
    head: int
    utc: float
    recipe: str
    facts: dict[str, Any]  # the fields of core.record.LessonRecord

    def runs(self) -> Iterator[Run]:
        """How its steps went."""
        for step, outcome, _ in self.facts["runs"]:
            if outcome in get_args(Outcome):
                yield Run(step, self.utc, outcome)


def lessons(
    store: Path, trainee: str, utc: Callable[[], float], key: Key | None = None
) -> tuple[KeptLesson, ...]:
    """Every kept service of a trainee, oldest first; none if there is no store yet."""
    if not store.is_file():
        return ()
    with closing(RecordStore(store, "", utc, key)) as records:
        return tuple(_lesson(record) for record in records.all() if _is_of(record, trainee))


def levels(
    store: Path, trainee: str, utc: Callable[[], float], key: Key | None = None
) -> tuple[tuple[str, int], ...]:
    """The levels a trainee begins a session with.

    A store that cannot be read costs nobody a session: then every step is told in full.
    """
    if not trainee:
        return ()
    try:
        runs = [run for lesson in lessons(store, trainee, utc, key) for run in lesson.runs()]
        return tuple((step, int(s.level)) for step, s in standings(runs, utc()).items())
    except (AssistantError, ValueError) as error:
        log.warning("%s: every step is told in full", error)
        return ()


def assumed(begun: Mapping[str, Level], before: Iterable[Run], utc: float) -> list[Run]:
    """Runs that no record holds any more, but that the levels of a session's journal were made of.

    As few as lead there: for a rehearsal, and after records were deleted.
    """
    stood = standings(before, utc)
    return [
        Run(step, utc, "clean")
        for step, level in begun.items()
        if level > stood.get(step, Standing()).level
        for _ in range(CLEAN_RUNS * (level - 1))
    ]


def _is_of(record: Stored, trainee: str) -> bool:
    lesson = record.service.get("lesson")
    return lesson is not None and lesson["trainee"] == trainee


def _lesson(record: Stored) -> KeptLesson:
    service = record.service
    return KeptLesson(
        record.session, service["head"], record.first_utc, service["recipe"], service["lesson"]
    )

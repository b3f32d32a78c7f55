"""Every kind of input that comes from outside, by name: what reads it, and first inputs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.fuzz import files, journals, requests, spoken, talks
from tests.fuzz.changes import changed

CORPUS = Path(__file__).parent / "corpus"


@dataclass(frozen=True, slots=True)
class Target:
    """`run` raises if the input is neither read nor clearly refused."""

    name: str
    run: Callable[[bytes], None]
    seeds: Callable[[], Iterator[bytes]]
    change: Callable[[bytes, Random], bytes] = changed  # as people and damage change it

    @property
    def folder(self) -> Path:
        """Where its kept inputs lie."""
        return CORPUS / self.name

    def kept(self) -> list[Path]:
        """Inputs that once found something or reached a place of their own."""
        return sorted(self.folder.glob("*"))


def _of_files(name: str, run: Callable[[bytes], None]) -> Target:
    return Target(name, run, lambda: files.shipped(name))


TARGETS = {
    target.name: target
    for target in (
        *(
            _of_files(run.__name__, run)
            for run in (
                files.recipe,
                files.commands,
                files.phrases,
                files.choosing,
                files.settings,
                files.day,
                files.script,
            )
        ),
        Target("journal", journals.journal, journals.seeds),
        Target("words", spoken.words, spoken.seeds),
        Target("talk", talks.talk, talks.seeds, talks.changed),
        Target("board", requests.board, requests.seeds),
    )
}

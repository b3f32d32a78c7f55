"""D1: `kill -9` of a running rehearsal at random points; does it go on as if nothing had been?"""

from __future__ import annotations

import os
import shutil
import signal
import sys
import tempfile
import traceback
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

from assistant.core.client_card import Card
from assistant.core.events import Effect, Event, Say
from assistant.core.rule import SalonRule
from assistant.core.script import At, Line, Script
from assistant.edges.hearing import TypedHearing
from assistant.edges.journal import latest, read
from assistant.edges.service_sheets import ServiceSheets
from assistant.edges.word_files import load_commands, load_phrases
from assistant.rehearsal import Played, Rehearsal, Stage
from assistant.transcript import transcript
from tests.core.recipes import TWO_ZONES, recipe, stage, window, zone
from tests.core.service import GATE
from tests.proof.kept_seeds import KeptSeeds
from tests.proof.outcome import Outcome

ONE_ZONE = recipe(stage(zone("roots", window=window(8, 12, 18))), name="root touch")
DONE = "done.txt"


def prove(short: bool = False) -> list[Outcome]:
    """3,000 killed runs (`D1_TRIALS`, from seed `D1_FIRST`) of a service with two clients.

    `D1_LOG` names a file to go on with. The daily tests: 6.
    """
    first, count = 0, 6
    if not short:
        first = int(os.environ.get("D1_FIRST", "0"))
        count = int(os.environ.get("D1_TRIALS", "3000"))
    log = KeptSeeds("" if short else os.environ.get("D1_LOG", ""))
    with tempfile.TemporaryDirectory(prefix="d1-") as folder:
        return [_Kills(Path(folder)).trials(range(first, first + count), log)]


def service() -> Script:
    """Two clients, 45 minutes, a check put off, an undo, a limit passed, a pause of the program."""
    gate = [(f"0:{17 + 9 * n}", answer) for n, answer in enumerate(GATE)]
    second = [(f"6:{19 + 9 * n}", f"chair two {answer}") for n, answer in enumerate(GATE)]
    told = [
        ("0:08", "start test tap"),
        *gate,
        ("1:10", "root bowl is mixed"),
        ("1:30", "starting nape"),
        ("5:00", "nape is on"),
        ("5:20", "undo that"),
        ("5:40", "nape is on"),
        ("6:00", "starting crown"),
        ("6:10", "chair two start root touch"),
        *second,
        ("7:20", "chair two root bowl is mixed"),
        ("7:40", "chair two starting now"),
        ("9:30", "chair one crown is on"),
        ("12:15", "chair one nape is not ready"),
        ("13:00", "chair one note warmer next time"),
        ("11:00", "chair two roots is on"),
        ("15:10", "chair one how long"),
        ("17:00", "chair one give crown five minutes"),
        ("20:40", "chair two give it thirty"),
        ("26:30", "chair one rinsing now"),
        ("29:00", "chair one all rinsed"),
        ("31:40", "chair two rinsing now"),
        ("34:00", "chair two all rinsed"),
        ("37:00", "chair one next step"),
        ("38:00", "chair one next step"),
        ("39:00", "chair two next step"),
        ("40:00", "chair two next step"),
        ("45:00", "what is due"),
    ]
    lines = tuple(Line(At.parse(at), say=words) for at, words in told)
    return Script(1, "two clients", "a proof", lines, (), chairs=4)


class _Watched(Rehearsal):
    """Tells another process, byte by byte, of every event that has had its effects."""

    def __init__(self, script: Script, stage: Stage, folder: Path, pipe: int) -> None:
        super().__init__(script, stage, folder)
        self._pipe = pipe

    def _watch(self, event: Event, effects: Sequence[Effect]) -> None:
        super()._watch(event, effects)
        os.write(self._pipe, b".")


class _Sheets(ServiceSheets):
    def card(self, client: str) -> Card:
        """Nobody was here before."""
        return Card(0, reaction=False, more=False, test=None, last=None)


@dataclass(frozen=True, slots=True)
class _Truth:
    """What an uninterrupted rehearsal comes to."""

    text: str
    events: list[Event]
    sheets: dict[str, str]


class _Kills:
    """One uninterrupted rehearsal, then many killed ones."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._words, self._phrases = load_commands(), load_phrases()
        self._run(folder / "truth", None, None)
        self._truth = self._found(folder / "truth")
        if "missed" in self._truth.text or len(self._truth.sheets) != 2:
            raise AssertionError(f"the service does not go as meant:\n{self._truth.text}")

    def trials(self, seeds: range, log: KeptSeeds) -> Outcome:
        outcome, kills, done = Outcome("kill -9 and resume"), 0, dict(log.done())
        for seed in seeds:
            if seed not in done:
                done[seed] = self._trial(seed)
                log.add(seed, done[seed])
            kills += done[seed]["kills"]
            outcome.check(not done[seed]["problem"], f"seed {seed}: {done[seed]['problem']}")
        outcome.notes = f"{kills} kills, {len(self._truth.events)} events each"
        return outcome

    def _trial(self, seed: int) -> dict[str, Any]:
        rng, folder, problem = Random(seed), self._folder / f"trial-{seed}", ""
        kills = rng.choice((1, 1, 1, 2, 3))
        for _ in range(kills):
            acknowledged = self._run(folder, rng.randint(0, len(self._truth.events)), rng)
            problem = problem or self._wrong_after_kill(folder, acknowledged)
        self._run(folder, None, None)
        problem = problem or self._wrong_at_end(folder)
        shutil.rmtree(folder, ignore_errors=True)
        return {"kills": kills, "problem": problem}

    # ---------------------------------------------------------- one process

    def _run(self, folder: Path, kill_after: int | None, rng: Random | None) -> int:
        """Play or go on in a child process; kill it after so many events. Events it finished."""
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            self._child(folder, writing)
        os.close(writing)
        finished = 0
        if kill_after is not None and rng is not None:
            while finished < kill_after and (got := os.read(reading, kill_after - finished)):
                finished += len(got)
            for _ in range(rng.randint(0, 20_000)):  # somewhere inside the next event or two
                pass
            os.kill(child, signal.SIGKILL)
        while got := os.read(reading, 65536):
            finished += len(got)
        os.close(reading)
        os.waitpid(child, 0)
        return finished

    def _child(self, folder: Path, pipe: int) -> None:
        """Never returns: the process ends here, whatever happens."""
        try:
            hearing = TypedHearing(self._words)
            parts = Stage(
                words=self._words,
                phrases=self._phrases,
                recipes={r.name: r for r in (TWO_ZONES, ONE_ZONE)},
                recipe_texts=(),
                rule=SalonRule(),
                hearing=hearing,
                seconds_of=_seconds_of,
                records=_Sheets(folder / "records"),
            )
            rehearsal = _Watched(service(), parts, folder, pipe)
            path = latest(folder)
            played = rehearsal.play() if path is None else rehearsal.resume(path)
            (folder / DONE).write_text(_text(played), encoding="utf-8")
        except BaseException:  # noqa: BLE001 # a fork of the proof must not go on as the proof
            traceback.print_exc(file=sys.stderr)
            os._exit(1)
        os._exit(0)

    # -------------------------------------------------------------- verdict

    def _found(self, folder: Path) -> _Truth:
        path = latest(folder)
        if path is None:
            raise AssertionError(f"no journal in {folder}")
        events = [record.event for record in read(path)[0]]
        sheets = {each.name: each.read_text("utf-8") for each in (folder / "records").glob("*.md")}
        return _Truth((folder / DONE).read_text("utf-8"), events, sheets)

    def _wrong_after_kill(self, folder: Path, acknowledged: int) -> str:
        path = latest(folder)
        if path is None:
            return "acknowledged events without a journal" if acknowledged else ""
        found = [record.event for record in read(path)[0]]
        if len(found) < acknowledged:
            return f"{acknowledged} acknowledged, {len(found)} found"
        if found != self._truth.events[: len(found)]:
            return "phantom event"
        return ""

    def _wrong_at_end(self, folder: Path) -> str:
        if not (folder / DONE).exists():
            return "did not come to its end"
        found = self._found(folder)
        if found.events != self._truth.events:
            return f"{len(found.events)} events instead of {len(self._truth.events)}"
        if found.text != self._truth.text:
            return f"another transcript: {_first_difference(found.text, self._truth.text)}"
        return "" if found.sheets == self._truth.sheets else "another service record"


def _seconds_of(say: Say, text: str) -> float:
    return 0.5 + 0.06 * len(text)


def _text(played: Played) -> str:
    return "\n".join(map(str, transcript(played)))


def _first_difference(one: str, other: str) -> str:
    for mine, wanted in zip(one.splitlines(), other.splitlines(), strict=False):
        if mine != wanted:
            return f"{mine!r} instead of {wanted!r}"
    return "shorter or longer"

"""Files that people write (recipes, words, settings, days, scripts): bytes in, value or refusal.

What is accepted is also used: a recipe that is taken must run through a service to its end.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

from assistant.core import plan_head, plan_sheet
from assistant.core.client_card import Card
from assistant.core.events import Say
from assistant.core.head import Head
from assistant.core.language import language
from assistant.core.mix_sheet import mix_sheet
from assistant.core.plan_check import faults
from assistant.core.plan_greedy import greedy
from assistant.core.recipe import Recipe
from assistant.core.script import Script
from assistant.core.session_names import names_of
from assistant.edges import (
    checking,
    choosing_file,
    day_file,
    recipe_files,
    script_files,
    settings_file,
    word_files,
)
from assistant.edges.hearing import TypedHearing
from assistant.errors import ConfigError, StoreError
from assistant.rehearsal import Rehearsal, Stage
from tests.core.service import Service
from tests.fuzz.limits import clear

PLAYED_LINES, PLAYED_SECONDS = 8, 3600.0  # longer scripts are only read


@cache
def folder() -> Path:
    """A folder of this process for the files under test."""
    return Path(tempfile.mkdtemp(prefix="fuzz-"))


def _file(data: bytes, name: str = "bad.yaml") -> Path:
    path = folder() / name
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    return path


@cache
def shipped_recipes() -> dict[str, Recipe]:
    """The recipes that a day may name."""
    return recipe_files.load_all()[0]


# ------------------------------------------------------------------ recipes


def recipe(data: bytes) -> None:
    """A folder with one recipe file."""
    path = _file(data, "recipes/bad.yaml")
    told = checking.check([path], lambda word: True)
    try:
        read, _ = recipe_files.load_all(path.parent)
    except ConfigError as error:
        clear(error)
        if not told:
            raise AssertionError("refused, but `check` has nothing to mend") from error
        return
    for taken in read.values():
        _planned(taken)
        _served(taken)


def _planned(taken: Recipe) -> None:
    for sheet in mix_sheet(taken):
        sheet.sentences()
    plan_sheet.service_lines(plan_head.service_plan(taken))


def _served(taken: Recipe) -> None:
    """Every zone put on and left on: each must be called at its limit."""
    service = Service(taken)
    service.hear(f"start {taken.name}")
    service.gate()
    for bowl in taken.stages[0].bowls:
        service.hear(f"{bowl.name} is mixed")
    for zone in taken.stages[0].zones:
        service.hear(f"starting {zone.name}")
        service.hear(f"{zone.name} is on")
    started = [run for run in service.head().file.zones if run.on_at is not None]
    hours = max([run.zone.window.limit_minutes for run in started], default=0) // 60 + 1
    if hours > 8:
        return  # a limit of days cannot be waited for here
    service.at(f"{int(hours * 60)}:30")
    if service.salon.broken:
        raise AssertionError(f"alarms that cannot be worked out: {service.salon.broken}")
    called = {key for say in service.effects if isinstance(say, Say) for key in say.call.split()}
    for run in started:
        name = run.zone.name.replace(" ", "_")
        if not any(key.startswith("limit/") and key.endswith(name) for key in called):
            raise AssertionError(f"no call at the limit of {run.zone.name}")


# ------------------------------------------------------------------ other files


def commands(data: bytes) -> None:
    """`words/commands.yaml`: what is accepted can be listened for."""

    def use(path: Path) -> None:
        words = word_files.load_commands.__wrapped__(path)
        language(words, names_of(words, shipped_recipes(), 4))

    _read(use, data)


def phrases(data: bytes) -> None:
    """`words/phrases.yaml`."""
    _read(word_files.load_phrases.__wrapped__, data)


def choosing(data: bytes) -> None:
    """`words/choosing.yaml`."""
    _read(lambda path: choosing_file.load_rules(path, list(shipped_recipes())), data)


def settings(data: bytes) -> None:
    """The salon's settings; the folder it names must be one that can be asked for."""

    def use(path: Path) -> None:
        taken = settings_file.load(path)
        os.fsencode(taken.sessions)
        if "\0" in str(taken.sessions):
            raise AssertionError("a folder that the system cannot be asked for")
        if not 0 <= taken.rule.alert_test_days_min <= taken.rule.alert_test_days_max:
            raise AssertionError("a span of days the wrong way round")

    _read(use, data)


def day(data: bytes) -> None:
    """A day file: what is accepted is planned, and no plan breaks a limit."""

    def use(path: Path) -> None:
        _, taken = day_file.load(path, shipped_recipes())
        plan = greedy(taken)
        if plan is not None and (found := faults(taken, plan)):
            raise AssertionError(f"a plan with faults: {found[0]}")

    _read(use, data)


def script(data: bytes) -> None:
    """A rehearsal script; a short one is played to its end."""

    def use(path: Path) -> None:
        taken = script_files.load(str(path))
        taken.levels()
        for line in taken.lines:
            line.words(word_files.load_commands().wake)
        ends = [line.at.seconds for line in taken.lines] + [w.by.seconds for w in taken.expect]
        if len(taken.lines) <= PLAYED_LINES and max(ends, default=0) <= PLAYED_SECONDS:
            _play(taken)

    _read(use, data)


def _play(taken: Script) -> None:
    with tempfile.TemporaryDirectory(dir=folder()) as into:
        rehearsal = Rehearsal(taken, _stage(), Path(into))
        rehearsal.play()


class _NoRecords:
    """Nobody was here before, and nothing is written."""

    def write(self, head: Head) -> None:
        """Other tests look at the records."""

    def card(self, client: str) -> Card:
        """A first visit."""
        return Card(0, reaction=False, more=False, test=None, last=None)


def _stage() -> Stage:
    words = word_files.load_commands()
    return Stage(
        words=words,
        phrases=word_files.load_phrases(),
        recipes=shipped_recipes(),
        recipe_texts=(),
        rule=Service().salon.rule,
        hearing=TypedHearing(words),
        seconds_of=lambda say, text: 0.5 + 0.06 * len(text),
        records=_NoRecords(),
    )


def _read(use: Callable[[Path], object], data: bytes) -> None:
    try:
        use(_file(data))
    except (ConfigError, StoreError) as error:
        clear(error)


# ------------------------------------------------------------------ seeds


def shipped(name: str) -> Iterator[bytes]:
    """The files that ship, as first inputs."""
    where = {
        "recipe": recipe_files.default_folder().glob("*.yaml"),
        "commands": [word_files.FOLDER / "commands.yaml"],
        "phrases": [word_files.FOLDER / "phrases.yaml"],
        "choosing": [choosing_file.SHIPPED],
        "day": day_file.default_folder().glob("*.yaml"),
        "script": script_files.default_folder().glob("*.yaml"),
    }
    if name == "settings":
        yield settings_file.EXAMPLE.encode()
    for path in sorted(where.get(name, ())):
        yield path.read_bytes()

"""What is there to mend in recipes and word files? Everything at once, with file, line and mend."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

from assistant.core.recipe import Recipe
from assistant.edges import (
    choosing_file,
    recipe_files,
    settings_file,
    word_files,
    yaml_reader,
)
from assistant.edges.choosing_file import ChoosingFile
from assistant.edges.settings_file import Settings
from assistant.edges.word_files import CommandFile, PhraseFile
from assistant.edges.yaml_reader import FileProblem, KeyPath
from assistant.errors import ConfigError

Knows = Callable[[str], bool]
Told = tuple[KeyPath, str, str]
WORD_FILES = ("commands.yaml", "phrases.yaml", "choosing.yaml")
MEND_WORD = "use another word, or add it to the model (DEVELOPERS.md, 'Add a word')"
_PLACE = re.compile(r"\{[a-z]+(?::(?:back|daysback|minutes|minutesback))?\}")


def check(paths: Sequence[Path] = (), knows: Knows | None = None) -> list[FileProblem]:
    """Every problem of these recipes, word files and folders of them (none: all that ship).

    `knows` says whether the speech model has a word; without it no word is looked up.
    """
    problems: list[FileProblem] = []
    recipes: dict[str, str] = {}  # spoken name -> file
    for path in _files(paths, problems):
        text = yaml_reader.try_text(path)
        if isinstance(text, FileProblem):
            problems.append(text)
        elif path.name in WORD_FILES:
            problems += _word_file(path, text, knows)
        elif path.name == settings_file.NAME:
            problems += _settings(path, text, knows)
        else:
            problems += _recipe(path, text, knows, recipes)
    return sorted(set(problems))


def _files(paths: Sequence[Path], problems: list[FileProblem]) -> Iterator[Path]:
    if not paths:
        paths = [recipe_files.default_folder(), *(word_files.FOLDER / name for name in WORD_FILES)]
        paths += [path for path in [settings_file.default_path()] if path.exists()]
    for path in paths:
        if not path.is_dir():
            yield path
            continue
        try:
            yield from recipe_files.files(path)
        except ConfigError:
            mend = "name a folder that holds *.yaml files"
            problems.append(FileProblem(str(path), 1, "no recipe in this folder", mend))


def _recipe(
    path: Path, text: str, knows: Knows | None, seen: dict[str, str]
) -> Iterable[FileProblem]:
    def rules(recipe: Recipe) -> list[Told]:
        found = recipe_files.recipe_problems(recipe)
        first = seen.setdefault(recipe.name, str(path))
        if first != str(path):
            what = f"{recipe.name!r} is the name of {first} already"
            found.append((("name",), what, "give it another name"))
        for place, name in recipe_files.spoken_names(recipe):
            found += _unknown(place, name.split(), knows)
        return found

    return yaml_reader.parse(Recipe, text, str(path), rules)[1]


def _word_file(path: Path, text: str, knows: Knows | None) -> Iterable[FileProblem]:
    def commands(file: CommandFile) -> list[Told]:
        return [*word_files.command_problems(file), *_command_words(file, knows)]

    def choosing(file: ChoosingFile) -> list[Told]:
        return [*choosing_file.problems(file), *choosing_file.strangers(file, shipped_names())]

    if path.name == "commands.yaml":
        return yaml_reader.parse(CommandFile, text, str(path), commands)[1]
    if path.name == "phrases.yaml":
        return yaml_reader.parse(PhraseFile, text, str(path), phrase_problems)[1]
    return yaml_reader.parse(ChoosingFile, text, str(path), choosing)[1]


def shipped_names() -> list[str] | None:
    """The spoken names of the shipped recipes; None while one of them is to be mended."""
    try:
        return list(recipe_files.load_all()[0])
    except ConfigError:
        return None


def _settings(path: Path, text: str, knows: Knows | None) -> Iterable[FileProblem]:
    def rules(settings: Settings) -> list[Told]:
        own = settings.wake_word.split()
        return [*settings_file.problems(settings), *_unknown(("wake_word",), own, knows)]

    return yaml_reader.parse(Settings, text, str(path), rules)[1]


def _command_words(file: CommandFile, knows: Knows | None) -> Iterator[Told]:
    """Every word that is listened for, but for the slots: those are names in the recipes."""
    yield from _unknown(("wake",), [file.wake], knows)
    for name, entry in file.commands.items():
        for index, phrase in enumerate(entry.phrases):
            yield from _unknown(("commands", name, "phrases", index), _own_words(phrase), knows)
    for key in ("notes", "decoys"):
        for index, phrase in enumerate(getattr(file, key)):
            yield from _unknown((key, index), _own_words(phrase), knows)


def _own_words(phrase: str) -> list[str]:
    return [word for word in phrase.split() if not word.startswith("{")]


def phrase_problems(file: PhraseFile) -> list[Told]:
    """Placeholders that cannot be filled."""
    return [
        (
            ("phrases", name),
            "a placeholder cannot be read",
            "write {name}, {name:back}, {name:daysback}, {name:minutes} or {name:minutesback}",
        )
        for name, phrase in file.phrases.items()
        if re.search(r"[{}]", _PLACE.sub("", phrase))
    ]


def _unknown(place: KeyPath, words: Iterable[str], knows: Knows | None) -> list[Told]:
    if knows is None:
        return []
    return [
        (place, f"the speech model does not know {word!r}", MEND_WORD)
        for word in words
        if not knows(word.lower())
    ]

"""Recipes from `recipes/*.yaml`: all of them, or every problem with its line and its mend."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from assistant.core import recipe as rules
from assistant.core.recipe import Recipe
from assistant.edges import yaml_reader
from assistant.edges.yaml_reader import FileProblem, KeyPath
from assistant.errors import ConfigError

_SPOKEN = re.compile(r"[a-z]+(?:'[a-z]+)*(?: [a-z]+(?:'[a-z]+)*)*")


def default_folder() -> Path:
    """The recipes that ship with the program: the checkout's, or the installed package's."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "recipes", package.parent / "recipes"):
        if folder.is_dir():
            return folder
    raise ConfigError("the shipped recipes are missing: reinstall, or give a folder of your own")


def files(folder: Path) -> list[Path]:
    """The recipe files of a folder, in order of name; `ConfigError` if there is none."""
    if not folder.is_dir():
        raise ConfigError(f"{folder}: no such folder: give one that holds recipes (*.yaml)")
    found = sorted(folder.glob("*.yaml"))
    if not found:
        raise ConfigError(f"{folder}: no recipe here: add a *.yaml file")
    return found


def parse(text: str, name: str) -> tuple[Recipe | None, list[FileProblem]]:
    """A recipe from its text, and every problem (then there is no recipe)."""
    return yaml_reader.parse(Recipe, text, name, recipe_problems)


def load_all(folder: Path | None = None) -> tuple[dict[str, Recipe], tuple[tuple[str, str], ...]]:
    """Recipes by spoken name, and the texts they came from; `ConfigError` lists every problem."""
    read = [(path.name, yaml_reader.try_text(path)) for path in files(folder or default_folder())]
    unread = [text for _, text in read if isinstance(text, FileProblem)]
    if unread:
        raise ConfigError("\n".join(str(problem) for problem in unread))
    return from_texts((name, text) for name, text in read if isinstance(text, str))


def from_texts(
    texts: Iterable[tuple[str, str]],
) -> tuple[dict[str, Recipe], tuple[tuple[str, str], ...]]:
    """Recipes from (file name, text) pairs, as a journal keeps them."""
    kept = tuple(texts)
    recipes, problems = read_all(kept)
    if problems:
        raise ConfigError("\n".join(str(problem) for problem in problems))
    return recipes, kept


def read_all(
    texts: Iterable[tuple[str, str]],
) -> tuple[dict[str, Recipe], list[FileProblem]]:
    """The recipes that can be read, by spoken name, and every problem of the others."""
    recipes: dict[str, Recipe] = {}
    problems: list[FileProblem] = []
    for name, text in texts:
        recipe, found = parse(text, name)
        problems += found
        if recipe is not None and recipe.name in recipes:
            what = f"a recipe named {recipe.name!r} is there already"
            problems.append(FileProblem(name, 1, what, "give it another name"))
        elif recipe is not None:
            recipes[recipe.name] = recipe
    return recipes, problems


def spoken_names(recipe: Recipe) -> Iterator[tuple[KeyPath, str]]:
    """Every name in the recipe that is said aloud, with its place."""
    yield ("name",), recipe.name
    for index, stage in enumerate(recipe.stages):
        for i, bowl in enumerate(stage.bowls):
            yield ("stages", index, "bowls", i, "name"), bowl.name
        for i, zone in enumerate(stage.zones):
            yield ("stages", index, "zones", i, "name"), zone.name


def recipe_problems(recipe: Recipe) -> list[tuple[KeyPath, str, str]]:
    """Every rule the recipe breaks that needs more than one field, or the ear, to see."""
    found = [(problem.path, problem.what, problem.mend) for problem in rules.problems(recipe)]
    for path, name in spoken_names(recipe):
        if not _SPOKEN.fullmatch(name):
            what = f"{name!r} cannot be listened for"
            found.append((path, what, "write it as it is said: small letters, numbers as words"))
    return found

"""Rehearsal scripts from `audio_fixtures/rehearsals/*.yaml`."""

from __future__ import annotations

from pathlib import Path

from assistant.core import script as rules
from assistant.core.script import Script
from assistant.edges import yaml_reader
from assistant.errors import ConfigError


def default_folder() -> Path:
    """The scripts that ship with the program: the installed package's, or the checkout's."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "audio_fixtures", package.parent / "audio_fixtures"):
        if (folder / "rehearsals").is_dir():
            return folder / "rehearsals"
    raise ConfigError("the shipped rehearsals are missing: reinstall the package")


def names(folder: Path | None = None) -> list[str]:
    """What can be rehearsed."""
    return sorted(path.stem for path in (folder or default_folder()).glob("*.yaml"))


def load(name: str, folder: Path | None = None) -> Script:
    """A script by name or by the path of a file of one's own; `ConfigError` if it has problems."""
    path = Path(name)
    if path.suffix != ".yaml":
        known = names(folder)
        if name not in known:
            near = yaml_reader.nearest(name, known)
            hint = f"did you mean {near!r}?" if near else f"there are: {', '.join(known)}"
            raise ConfigError(f"no rehearsal {name!r}: {hint}")
        path = (folder or default_folder()) / f"{name}.yaml"
    return yaml_reader.load(Script, path, rules.problems)

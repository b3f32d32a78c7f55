"""The salon's settings: one YAML file in the platform's configuration folder, all keys optional."""

from __future__ import annotations

import os
import re
import sys
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.core.rule import SalonRule
from assistant.edges import renderer, yaml_reader
from assistant.edges.yaml_reader import KeyPath
from assistant.errors import ConfigError

NAME = "settings.yaml"
MOST_CHAIRS = 12
SLOWEST, FASTEST = 80, 300
LONGEST_RULE = 3660  # days
_SHIPPED = SalonRule()


@dataclass(frozen=True, slots=True)
class Settings:
    """Every key of the file, with what holds if it is left out.

    `chairs` 1 to 12. `wake_word` one word the speech model knows; empty: the shipped one.
    `alert_test_days_min`/`_max`: when an alert test counts in this salon. `people` and `basins`:
    hands and basins for "can I start chair three now". `microphone`, `loudspeaker`: a part of
    the device's name as `swatchword soundcheck` lists it; empty: the system's own choice.
    `headset` yes: you may speak while it speaks. `voice`: an English voice of espeak-ng.
    `words_per_minute` 80 to 300. `trainee`: a pseudonym, whoever is taught in this salon's
    sessions; empty: nobody. `folder`: where sessions are kept; empty: the platform's own.
    """

    version: int = 1
    chairs: int = 4
    wake_word: str = ""
    alert_test_days_min: int = _SHIPPED.alert_test_days_min
    alert_test_days_max: int = _SHIPPED.alert_test_days_max
    people: int = _SHIPPED.people
    basins: int = _SHIPPED.basins
    microphone: str = ""
    loudspeaker: str = ""
    headset: bool = False
    voice: str = renderer.VOICE
    words_per_minute: int = renderer.WORDS_PER_MINUTE
    trainee: str = ""
    folder: str = ""

    @property
    def rule(self) -> SalonRule:
        """The salon's own rules."""
        return SalonRule(
            self.alert_test_days_min, self.alert_test_days_max, self.people, self.basins
        )

    @property
    def sessions(self) -> Path:
        """Where sessions are kept."""
        return Path(self.folder).expanduser() if self.folder else data_folder() / "sessions"


EXAMPLE = f"""\
# Swatchword's settings. Every line may be left out.
version: 1
chairs: 4                    # 1 to {MOST_CHAIRS}
# wake_word: juniper         # one word that the speech model knows
alert_test_days_min: 2       # an alert test counts from so many days after it was made
alert_test_days_max: 120     # to so many: your salon, your insurer and the leaflet decide
people: 1                    # pairs of hands, for "can I start chair three now"
basins: 1
# microphone: USB            # a part of the name that 'swatchword soundcheck' lists
# loudspeaker: HDMI
headset: no                  # yes: you may speak while it speaks
voice: {renderer.VOICE}                # or gmw/en-us, gmw/en-gb-x-rp, gmw/en-gb-scotland ...
words_per_minute: {renderer.WORDS_PER_MINUTE}        # {SLOWEST} to {FASTEST}
# trainee: robin             # a pseudonym: steps are told with their reasons, then asked
# folder: ~/salon            # where sessions are kept
"""


def config_folder() -> Path:
    """Where this platform keeps a program's settings."""
    return _folder("XDG_CONFIG_HOME", ".config", "APPDATA")


def data_folder() -> Path:
    """Where this platform keeps a program's data."""
    return _folder("XDG_DATA_HOME", ".local/share", "LOCALAPPDATA")


def _folder(variable: str, unix: str, windows: str) -> Path:
    if sys.platform == "darwin":
        base = _home() / "Library" / "Application Support"
    elif sys.platform == "win32":
        named = os.environ.get(windows, "")
        base = Path(named) if named else _home()
    else:
        named = os.environ.get(variable, "")
        base = Path(named) if Path(named).is_absolute() else _home() / unix
    return base / "swatchword"


def _home() -> Path:
    try:
        return Path.home()
    except RuntimeError as error:
        raise ConfigError(
            "this user has no home folder: set HOME, or name --settings FILE and --out DIR"
        ) from error


def default_path() -> Path:
    """The file that is read if none is named."""
    return config_folder() / NAME


def load(path: Path | None = None) -> Settings:
    """The settings; `ConfigError` lists every problem. No file at all: what is shipped."""
    if path is None:
        path = default_path()
        if not _is_there(path):
            return Settings()
    return yaml_reader.load(Settings, path, problems)


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError as error:  # a folder on the way that may not be entered
        raise ConfigError(f"{path}: {error.strerror}: name another file with --settings") from error


def with_headset(settings: Settings) -> Settings:
    """The same, but one may speak while it speaks."""
    return replace(settings, headset=True)


def with_trainee(settings: Settings, trainee: str) -> Settings:
    """The same, but somebody is taught."""
    return replace(settings, trainee=trainee)


def write_example(path: Path) -> None:
    """A file to start from; one that is there is left alone."""
    if _is_there(path):
        raise ConfigError(f"{path}: there already: edit it, or move it away first")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(EXAMPLE, encoding="utf-8")
    except OSError as error:
        raise ConfigError(f"{path}: {error.strerror}: name another place") from error


def problems(settings: Settings) -> list[tuple[KeyPath, str, str]]:
    """Every value that cannot be."""
    found: list[tuple[KeyPath, str, str]] = []

    def between(key: str, least: int, most: int) -> None:
        if not least <= getattr(settings, key) <= most:
            what = f"{key} is {getattr(settings, key)}"
            found.append(((key,), what, f"write {least} to {most}"))

    between("version", 1, 1)
    between("chairs", 1, MOST_CHAIRS)
    between("alert_test_days_min", 0, LONGEST_RULE)
    between("alert_test_days_max", 1, LONGEST_RULE)
    between("people", 1, MOST_CHAIRS)
    between("basins", 1, MOST_CHAIRS)
    between("words_per_minute", SLOWEST, FASTEST)
    if settings.alert_test_days_min > settings.alert_test_days_max:
        what = "alert_test_days_min is later than alert_test_days_max"
        found.append((("alert_test_days_min",), what, "write the smaller one first"))
    if settings.wake_word and not re.fullmatch(r"[a-z']+", settings.wake_word):
        found.append((("wake_word",), "the wake word is one word", "write it in small letters"))
    if settings.voice not in renderer.VOICES:
        what = f"there is no English voice {settings.voice!r}"
        found.append((("voice",), what, f"write one of {', '.join(renderer.VOICES)}"))
    found += [(("folder",), what, mend) for what, mend in _folder_problems(settings.folder)]
    return found


def _folder_problems(name: str) -> list[tuple[str, str]]:
    """What keeps a folder from being asked for."""
    if not name:
        return []
    if not name.isprintable():
        return [(f"the folder {name!r} has control characters", "write it without them")]
    try:
        whole = Path(name).expanduser().is_absolute()
    except RuntimeError:
        return [(f"no such user as in {name!r}", "write '~/' for your own home")]
    return [] if whole else [("the folder is not a whole path", "begin it with / or ~")]

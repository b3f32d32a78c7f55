"""The settings file: every key documented, every wrong value told with its line."""

from __future__ import annotations

from dataclasses import fields
from itertools import combinations
from pathlib import Path

import pytest

from assistant import app
from assistant.edges import checking, settings_file
from assistant.edges.renderer import VOICES, Renderer
from assistant.edges.settings_file import EXAMPLE, Settings
from assistant.errors import ConfigError


def test_no_file_is_everything_as_shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert settings_file.load() == Settings()


def test_a_folder_that_may_not_be_entered_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path) -> bool:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "exists", refuse)
    with pytest.raises(ConfigError, match=r"settings\.yaml: Permission denied: name another file"):
        settings_file.load()


def test_the_example_reads_as_shipped_and_shows_every_key(tmp_path: Path) -> None:
    path = tmp_path / "new" / "settings.yaml"
    settings_file.write_example(path)
    assert settings_file.load(path) == Settings()
    assert all(f"{field.name}:" in EXAMPLE for field in fields(Settings))
    with pytest.raises(ConfigError, match="there already"):
        settings_file.write_example(path)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("chairs: 0", "chairs is 0"),
        ("chairs: many", "chairs|number"),
        ("headset: maybe", "neither yes nor no"),
        ("microfone: USB", "did you mean 'microphone'"),
        ("alert_test_days_min: 200", "later than alert_test_days_max"),
        ("wake_word: hey there", "one word"),
        ("folder: ~nosuchuser/salon", "no such user"),
        ('folder: "sa\\0lon"', "control characters"),
        ("wake_word: Marigold", "small letters"),
        ("wake_word: 12", "small letters"),
        ("words_per_minute: 900", "write 80 to 300"),
        ("words_per_minute: fast", "not a whole number"),
        ("people: 0", "write 1 to 12"),
        ("basins: 99", "write 1 to 12"),
        ("voice: de", "no English voice 'de'"),
        ("voice: klingon", "write one of gmw/en, gmw/en-us"),
        ("microphone:", "nothing is written here"),
        ("folder: salon", "begin it with / or ~"),
        ("chairs: [1]", "expected one value"),
        ("headset: on", "neither yes nor no"),
    ],
)
def test_a_wrong_line_is_told_with_its_number(tmp_path: Path, line: str, told: str) -> None:
    path = tmp_path / "settings.yaml"
    path.write_text(f"version: 1\n{line}\n", encoding="utf-8")
    with pytest.raises(ConfigError, match=rf"settings\.yaml:2: .*({told})"):
        settings_file.load(path)


@pytest.mark.parametrize("word", ["crown", "chair", "swatchword", "clocks", "reaction"])
def test_a_wake_word_that_is_said_otherwise_is_refused(word: str) -> None:
    """We would wake at our own sentence, or at a command said to nobody."""
    with pytest.raises(ConfigError, match=f"'{word}' is also a word that is said"):
        app.live_book(Settings(wake_word=word))


def test_another_wake_word_is_taken() -> None:
    assert app.live_book(Settings(wake_word="tangerine")).words.wake == "tangerine"


def test_every_voice_that_may_be_named_speaks_in_its_own_way() -> None:
    """A name that espeak-ng does not know sounds like the default, without a word of trouble."""
    sounds = [Renderer(voice).render("Nape. Limit. Rinse now.").samples for voice in VOICES]
    assert all(one != other for one, other in combinations(sounds, 2))
    assert not any(settings_file.problems(Settings(voice=voice)) for voice in VOICES)


def test_a_named_file_must_be_there(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="no such file"):
        settings_file.load(tmp_path / "none.yaml")


def test_check_covers_the_settings(tmp_path: Path) -> None:
    path = tmp_path / "settings.yaml"
    path.write_text("version: 1\nwake_word: xyzzy\n", encoding="utf-8")
    found = checking.check([path], lambda word: word != "xyzzy")
    assert [(p.line, p.what) for p in found] == [(2, "the speech model does not know 'xyzzy'")]

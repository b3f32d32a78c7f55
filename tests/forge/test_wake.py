"""The measure of wake words, on the shipped recordings."""

from __future__ import annotations

import numpy as np
import pytest

from assistant import app
from assistant.edges import hearing, recordings, wav_files
from assistant.edges.recogniser import Model, bundled_model
from assistant.forge import wake
from assistant.forge.fixtures_noise import level_db
from assistant.forge.fixtures_room import HZ
from assistant.forge.fixtures_studio import Studio
from tests.wake import WAKE

SAID = f"{WAKE} start root tap"


@pytest.fixture(scope="module")
def model() -> Model:
    return Model(bundled_model())


@pytest.mark.parametrize(("word", "times"), [(WAKE, 2), ("tangerine", 0)])
def test_each_utterance_that_begins_with_the_word_wakes(
    model: Model, word: str, times: int
) -> None:
    book = app.read_book()
    path = recordings.recording_for(SAID, "stylist", "clean", None)
    once = hearing.with_floor(wav_files.read(path))
    ear = wake.Ear(word, model, book.words, book.names(4))
    assert ear.wakes(once + once) == times


class Tap(Studio):
    """Without voices, which would have to be fetched: noises that nobody speaks in."""

    def __init__(self) -> None:
        """Nothing to keep."""


@pytest.mark.parametrize("noise", ["dryer", "water"])
def test_noise_stands_below_the_speech_by_the_ratio(noise: str) -> None:
    """The two sounds differ by the noise alone: its level against the speech's is the ratio."""
    speech, scenes = np.random.default_rng(1).normal(size=HZ), (("clean", None), (noise, 10.0))
    sounds = wake.in_a_room(speech, "af_sarah", scenes, 1, Tap())
    quiet, noisy = (np.frombuffer(sound, "<i2") / 32767 for sound in sounds)
    assert level_db(noisy - quiet) == pytest.approx(wake.SPEECH_DBFS - 10.0, abs=0.5)


def test_a_row_tells_times_and_of_how_many() -> None:
    row = wake.Row(WAKE, {("clean", None): (1, 64)})
    assert row.cells() == [WAKE, "1.6 % of 64"]

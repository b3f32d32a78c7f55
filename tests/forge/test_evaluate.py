"""Does the evaluation count whole lines only, heard as a session hears? On shipped recordings."""

from __future__ import annotations

import json
from array import array
from pathlib import Path

import numpy as np
import pytest

from assistant.core.language import language_of_lines
from assistant.edges import recordings, wav_files
from assistant.edges.recogniser import Model, bundled_model
from assistant.forge import corpus, evaluate
from assistant.forge.evaluate import Score
from tests.wake import WAKE

SAID = (f"{WAKE} what can i say", f"{WAKE} start root tap")
OTHERS = ("crown is on", "give it five", "nape is rinsed", "repeat")


def samples_of(said: str) -> corpus.Samples:
    path = recordings.recording_for(said, "stylist", "clean", None)
    sound = wav_files.read(path, rate=corpus.RATE)
    return np.array(array("h", sound.samples), np.int16)


@pytest.fixture(scope="module")
def index(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two lines as they are said, one in another split, one with a word nobody knows."""
    target = tmp_path_factory.mktemp("corpus") / "shipped"
    writer = corpus.Writer(target)
    for said in SAID:
        writer.add(samples_of(said), said, "somebody", "test")
    writer.add(samples_of(SAID[0]), OTHERS[0], "somebody", "tune")
    writer.add(samples_of(SAID[0]), "shampooist", "somebody", "test")
    writer.close()
    return target.with_suffix(".jsonl")


def one_score(lines: tuple[str, ...], claimed: str, said: str) -> Score:
    """Of one clip of which the corpus claims something, heard by these lines."""
    sound = samples_of(said)
    clip = corpus.Clip("shipped", 0, len(sound), claimed, "somebody", "test")
    ear = evaluate.ear_of(Model(bundled_model()), language_of_lines(lines))
    return evaluate.score(ear, [clip], sound, None, lines)


def test_the_likeliest_guess_counts() -> None:
    guesses = [{"text": " crown is on ", "confidence": 9.0}, {"text": "repeat", "confidence": 8.0}]
    assert evaluate.best(json.dumps({"alternatives": guesses})) == "crown is on"


def test_the_lines_of_a_split_are_heard_in_every_noise(index: Path) -> None:
    rows = list(evaluate.table(bundled_model(), index, "test", (None, 20.0), 10, 10))
    assert [ratio for ratio, _ in rows] == [None, 20.0]
    assert [dict(score.outcomes) for _, score in rows] == [{"exact": 2}] * 2
    assert all(score.worked > 0 and score.heard > 2 for _, score in rows)


def test_another_line_of_the_grammar_is_wrong() -> None:
    score = one_score((*SAID, *OTHERS), claimed=OTHERS[0], said=SAID[0])
    assert score.outcomes == {"wrong": 1}
    assert score.taken == {(OTHERS[0], SAID[0]): 1}


def test_what_is_no_line_goes_out_into_talk() -> None:
    score = one_score(OTHERS, claimed="what can i say", said=SAID[0])
    assert score.outcomes == {"rejected": 1}
    [(_, heard)] = score.taken
    assert "[unk]" in heard.split()

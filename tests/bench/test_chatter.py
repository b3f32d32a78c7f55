"""Does the bench of talk count what the ears would do, and weigh guesses as they do?"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from assistant import app
from assistant.core import guesses
from assistant.core.events import Event, Heard
from assistant.edges import hearing, recordings, wav_files
from assistant.edges.ears import Ears
from assistant.edges.gate import Gate
from assistant.edges.microphone import Frame
from assistant.edges.recogniser import RATE, Model, blocks, bundled_model
from assistant.forge.corpus import Writer
from tests.bench import chatter
from tests.bench import chatter_count as counting
from tests.bench.chatter_count import Utterance, Way
from tests.bench.chatter_people import held_out
from tests.bench.events_an_hour import highest, per_hour
from tests.bench.one_decoding import SharedModel
from tests.wake import WAKE

BOOK = app.read_book()
NAMES = BOOK.names(counting.CHAIRS)
WAYS = counting.every_way(BOOK.words)
# with the wake word, an answer to a check, talk
SAID = (
    (f"{WAKE} start root tap", "stylist"),
    ("nape is ready", "bf_isabella"),
    ("I know what you mean", "af_sarah"),
)
COMMANDS = {"open": 1, "check": 2, "tangerine": 0}


def said(*guessed: tuple[str, float], woken: bool = False, text: str = "") -> Utterance:
    return Utterance(1.0, woken, text or guessed[0][0], (guessed,))


def alone(way: Way, sound: bytes) -> list[str]:
    """What ears that share with nobody tell."""
    told: list[str] = []

    def tell(event: Event) -> None:
        assert isinstance(event, Heard)
        told.append(event.text)

    ears = Ears(Model(bundled_model()), way.words, NAMES, Gate(), tell)
    ears.listen(way.mode)
    for number, block in enumerate(blocks(sound)):
        ears.take(Frame(number * 0.1, block, RATE))
    return told


def test_ears_that_share_a_recogniser_hear_what_they_would_hear_alone() -> None:
    files = [recordings.recording_for(text, voice, "clean", None) for text, voice in SAID]
    sounds = [hearing.with_floor(wav_files.read(path)) for path in files]
    sound = b"".join(sounds)
    model = SharedModel(bundled_model(), BOOK.words, NAMES, chatter.CANDIDATES)
    ways = [WAYS[name] for name in COMMANDS]
    heard = list(chatter.utterances(model, ways, NAMES, sound))
    counts = counting.count(((*one, "") for one in heard), WAYS, NAMES)
    for way in ways:
        told = alone(way, sound)
        acted = [text for text in told if counting.meant(text, way, NAMES, woken=False)]
        assert [text for _, text in counts[way.name].texts] == acted
        assert len(acted) == COMMANDS[way.name]
    for one, names in heard:
        assert {counting.weighed(one, WAYS[name], NAMES) for name in names} == {one.text}
    before = model.made
    list(chatter.utterances(model, ways, NAMES, sounds[-1]))
    assert 0 < model.made - before < len(ways)  # talk is decoded once


@pytest.mark.parametrize(
    ("text", "way", "effect"),
    [
        (f"{WAKE} how long", "open", "answers"),
        (f"{WAKE} start root tap", "open", "starts"),
        (f"{WAKE} nape is on", "open", "changes"),
        (f"{WAKE} end this service", "open", "asks to stop"),
        (f"{WAKE} confirm chair one", "open", "answers"),
        ("confirm chair one", "confirm", "ends"),
        ("it burns", "check", "alarm"),
        ("thirty", "number", "changes"),
        ("five", "number", "answers"),
        ("five", "lesson", "changes"),
        ("thirty", "lesson", "changes"),
        (f"{WAKE} thirty", "open", "answers"),
        ("chair two", "which", "changes"),
        ("one to two", "lesson", "changes"),
    ],
)
def test_what_is_acted_on_counts_by_the_worst_it_can_do(text: str, way: str, effect: str) -> None:
    one = counting.count([(said((text, 5.0)), [way], "")], WAYS, NAMES)[way]
    assert dict(one.texts) == {(effect, text): 1}
    assert one.state == (effect in counting.STATE)
    assert one.woken == text.startswith(WAKE)


def test_talk_is_not_acted_on() -> None:
    heard = [
        (said((text, 5.0)), list(WAYS), "") for text in ("[unk] ready", "nape is ready to", "on")
    ]
    counts = counting.count(heard, WAYS, NAMES)
    assert not any(one.acted or one.woken for one in counts.values())


def test_other_margins_weigh_the_same_guesses_again(monkeypatch: pytest.MonkeyPatch) -> None:
    heard = [(said(("nape is ready", 9.0), ("[unk]", 8.5)), ["check"], "")]
    monkeypatch.setattr(guesses, "TOO_CLOSE", 0.2)
    assert counting.count(heard, WAYS, NAMES)["check"].state == 1
    monkeypatch.setattr(guesses, "TOO_CLOSE", 1.0)
    assert counting.count(heard, WAYS, NAMES)["check"].state == 0


def test_a_rate_comes_with_its_bounds() -> None:
    assert per_hour(0, 10.0) == "0 (< 0.3)"
    assert per_hour(5, 10.0) == "0.5 (0.16 to 1.2)"  # 1.62 and 11.67 events: the exact bounds
    assert highest(3) == pytest.approx(7.754, abs=0.001)


def test_a_service_weighs_the_modes_by_how_long_they_are_open() -> None:
    rate = counting.service({"open": 0, "check": 20}, {"open": 0.9, "check": 0.1}, 10.0)
    assert rate == "0.2 (< 0.56)"  # 0.9 of 3.0 events and 0.1 of 29.1 in ten hours


def test_words_that_were_said_to_somebody_else_are_told_apart(tmp_path: Path) -> None:
    """One was said so; what was said too long before is not what was heard."""
    heard, talk = tmp_path / "000.heard", tmp_path / "000.jsonl"
    lines = [{"at": at, "woken": False, "text": "not yet", "pieces": [], "ways": ["check"]}
             for at in (3.0, 20.0)]  # fmt: skip
    heard.write_text("\n".join(json.dumps(one) for one in ({"seconds": 3600.0}, *lines)))
    talk.write_text(json.dumps({"at": 1.0, "until": 2.5, "text": "Not yet, the vet is out"}))
    seconds, found = counting.read(heard, talk)
    one = counting.count(found, WAYS, NAMES)["check"]
    assert (seconds, one.state, one.said) == (3600.0, 2, 1)
    assert any("| 2 (0.24 to 7.2) | 1 |" in line for line in counting.table(found, 1.0, {}, False))


def test_talk_of_people_is_never_what_the_model_was_taught(tmp_path: Path) -> None:
    """Single words come in strings of one speaker; sentences by themselves."""
    pytest.importorskip("soundfile", reason="needs the extra `forge`")
    writer = Writer(tmp_path / "some.jsonl")
    for speaker, split, texts in (
        ("ann", "test", ["up", "down", "left", "right"]),
        ("bob", "train", ["stop", "go"]),
        ("cyd", "tune", ["they came home", "it was late"]),
    ):
        for text in texts:
            writer.add(np.ones(800, np.int16), text, speaker, split)
    writer.close()
    held_out(tmp_path / "some.jsonl", tmp_path)
    lines = (tmp_path / "readers_some" / "000.jsonl").read_text().splitlines()
    said = sorted((one["who"], len(one["text"].split())) for one in map(json.loads, lines))
    assert said == [("ann", 1), ("ann", 3), ("cyd", 3), ("cyd", 3)]
    heard = {word for one in map(json.loads, lines) for word in one["text"].split()}
    assert not heard & {"stop", "go"}

"""Do the ears wait for the rest of a command, and not for anything else?"""

from __future__ import annotations

import json
from array import array

import pytest

from assistant import app
from assistant.core.events import Event, Heard, Mode
from assistant.core.language import language
from assistant.edges import recordings, wav_files
from assistant.edges.ears import BREATH_SECONDS, Ears
from assistant.edges.gate import Gate
from assistant.edges.hearing import with_floor
from assistant.edges.microphone import Frame
from assistant.edges.recogniser import BLOCK, RATE, Model, blocks, bundled_model
from assistant.edges.wav_files import Sound
from tests.wake import WAKE

QUIET = array("h", [0] * (2 * RATE))


@pytest.fixture(scope="module")
def model() -> Model:
    return Model(bundled_model())


def listened(model: Model, sound: Sound, mode: Mode = "open") -> list[Heard]:
    """Everything the ears passed on."""
    book, passed = app.read_book(), list[Heard]()

    def tell(event: Event) -> None:
        assert isinstance(event, Heard)
        passed.append(event)

    ears = Ears(model, book.words, book.names(4), Gate(), tell)
    ears.listen(mode)
    for count, block in enumerate(blocks(with_floor(sound)), start=1):
        ears.take(Frame(count * BLOCK / RATE, block, RATE))
    return passed


def samples(text: str) -> array[int]:
    return wav_files.read(recordings.recording_for(text), rate=RATE).samples


def addressed() -> array[int]:
    """ "<wake>, chair one": the wake word cut from another recording, at its pause."""
    return samples(f"{WAKE} chair two nape is on")[: RATE * 16 // 20] + samples("chair one")


def test_a_chair_and_a_breath_wait_for_the_command(model: Model) -> None:
    (heard,) = listened(model, Sound(RATE, addressed() + QUIET[:RATE] + samples("leave it")))
    assert heard.text == f"{WAKE} chair one leave it"


def test_a_chair_alone_is_passed_on_when_nothing_follows(model: Model) -> None:
    (heard,) = listened(model, Sound(RATE, addressed() + QUIET + QUIET))
    assert heard.text == f"{WAKE} chair one"
    assert heard.at > len(addressed()) / RATE + BREATH_SECONDS


def test_a_chair_is_the_whole_answer_when_we_asked_for_one(model: Model) -> None:
    (heard,) = listened(model, Sound(RATE, addressed() + QUIET + QUIET), "which")
    assert heard.text == f"{WAKE} chair one"
    assert heard.at < len(addressed()) / RATE + 1.0


def word_ends(model: Model, sound: Sound) -> list[float]:
    """When the words of a clean recording are over, in seconds of it."""
    book = app.read_book()
    recogniser = model.recogniser(language(book.words, book.names(4)))
    recogniser.SetMaxAlternatives(0)
    recogniser.SetWords(True)
    recogniser.AcceptWaveform(with_floor(sound))
    return [word["end"] for word in json.loads(recogniser.FinalResult())["result"]]


def paused(model: Model, text: str, words: int, seconds: float) -> Sound:
    """A recording with a pause after so many of its words."""
    whole = samples(text)
    cut = round(word_ends(model, Sound(RATE, whole))[words - 1] * RATE)
    return Sound(RATE, whole[:cut] + array("h", [0] * round(seconds * RATE)) + whole[cut:])


@pytest.mark.parametrize("seconds", [0.9, 1.5])
@pytest.mark.parametrize("words", [2, 3, 4, 5])
def test_a_command_may_be_thought_over_in_the_middle(
    model: Model, words: int, seconds: float
) -> None:
    text = f"{WAKE} how long for the nape"
    (heard,) = listened(model, paused(model, text, words, seconds))
    assert heard.text == (text if words != 3 else f"{WAKE} how long")  # that is a command too


def test_half_a_command_is_passed_on_when_nothing_follows(model: Model) -> None:
    text = f"{WAKE} how long for the nape"
    over = word_ends(model, Sound(RATE, samples(text)))[3]
    first, *_ = listened(model, paused(model, text, 4, seconds=4.0))
    assert first.text == f"{WAKE} how long for"
    assert over + 2.0 < first.at < over + 3.5


def test_a_whole_command_does_not_wait_for_silence(model: Model) -> None:
    path = recordings.recording_for(f"{WAKE} undo that")
    recording = next(r for r in recordings.read_manifest(path.parent) if r.file == path.name)
    sound = wav_files.read(path, rate=RATE)
    (heard,) = listened(model, sound)
    assert heard.text == f"{WAKE} undo that"
    assert recording.speech_end is not None
    assert heard.at - recording.speech_end <= 0.7  # the goal for 95 of 100

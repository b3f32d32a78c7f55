"""Is what the microphone hears our own voice? Half-duplex at a loudspeaker, barge-in by headset."""

from __future__ import annotations

from array import array

import pytest

from assistant.edges.gate import HISS, LEAST_LEAKS, LOUDER, TAIL, WORD_ENDS, Gate
from assistant.edges.level import loudness

SENTENCE = "Nape ready. Seven minutes to the limit."
LASTS = 3.5  # seconds


@pytest.fixture
def loudspeaker() -> Gate:
    gate = Gate()
    gate.speaks(10.0, SENTENCE, LASTS)
    return gate


@pytest.fixture
def headset() -> Gate:
    gate = Gate(headset=True)
    gate.speaks(10.0, SENTENCE, LASTS)
    return gate


def test_it_is_shut_from_the_first_word_to_a_tail_after_the_last(loudspeaker: Gate) -> None:
    assert not loudspeaker.shut(9.8, 9.9)
    assert loudspeaker.shut(10.0, 10.1)
    assert loudspeaker.shut(99.0, 99.1)  # it speaks until it says that it does not
    loudspeaker.silent(13.5)
    assert loudspeaker.shut(13.5 + TAIL - 0.01, 13.6 + TAIL)
    assert not loudspeaker.shut(13.5 + TAIL, 13.6 + TAIL)


def test_the_end_of_nothing_shuts_nothing() -> None:
    gate = Gate()
    gate.silent(5.0)
    assert not gate.shut(5.0, 5.1)


def test_with_a_headset_it_is_never_shut(headset: Gate) -> None:
    assert not headset.shut(11.0, 11.1)


@pytest.mark.parametrize("text", ["nape ready", "seven minutes", "to the limit", "nape not ready"])
def test_our_own_words_heard_back_are_turned_away(headset: Gate, text: str) -> None:
    start = 10.0 if "nape" in text else 11.5
    assert headset.own(text, start, start + 1.5, whole=True)


def test_another_form_of_our_own_word_is_ours() -> None:
    """Two hours of our own sentences, heard back 20 dB down: this one was once acted on."""
    gate = Gate(headset=True)
    gate.speaks(10.0, "Back right: rinse noted. Tell me when it runs clear.", 3.0)
    assert gate.own("rinsed out", 10.5, 11.5, whole=True)


@pytest.mark.parametrize("text", ["rinsing now", "give it five", "crown is on", "it burns"])
def test_a_real_command_within_a_sentence_is_kept_by_headset(headset: Gate, text: str) -> None:
    assert not headset.own(text, 11.0, 12.5, whole=True)


def test_a_piece_of_a_command_is_ours_while_we_speak_and_theirs_when_we_do_not(
    headset: Gate,
) -> None:
    assert headset.own("rinsing", 11.0, 12.5, whole=False)
    headset.silent(13.5)
    assert not headset.own("rinsing", 13.5 + TAIL, 15.0, whole=False)


def test_the_same_words_long_after_or_at_another_place_are_theirs(headset: Gate) -> None:
    """ "Nape" sounds at the beginning: who says "nape ready" over the end says it himself."""
    assert not headset.own("nape ready", 13.0, 13.4, whole=True)
    headset.silent(13.5)
    assert not headset.own("nape ready", 15.0, 16.0, whole=True)


def test_an_utterance_over_two_sentences_is_held_against_both(headset: Gate) -> None:
    headset.silent(13.5)
    headset.speaks(13.6, "Crown. Check a strand.", 2.0)
    assert headset.own("limit crown check", 12.5, 15.0, whole=True)


def square(level: float) -> bytes:
    """A tenth of a second of this loudness, in dB of full scale."""
    height = round(32768 * 10 ** (level / 20))
    return array("h", [height, -height] * 800).tobytes()


def test_by_headset_our_leaking_voice_becomes_a_hiss_and_a_louder_one_is_not(headset: Gate) -> None:
    leak, theirs = square(-55.0), square(-55.0 + LOUDER + 3)
    quiet = HISS[: len(leak) // 2].tobytes()
    assert loudness(quiet) < -80.0
    for block in range(LEAST_LEAKS + 1):
        at = 10.0 + block / 10
        assert headset.without_leak(leak, at, at + 0.1) == quiet
    end = at + 0.2
    assert headset.without_leak(theirs, end - 0.1, end) == theirs
    within, after = end + WORD_ENDS - 0.1, end + WORD_ENDS
    assert headset.without_leak(leak, within, within + 0.1) == leak  # a soft end of their word
    assert headset.without_leak(leak, after, after + 0.1) == quiet


def test_nothing_becomes_a_hiss_while_we_are_silent_or_at_a_loudspeaker(
    headset: Gate, loudspeaker: Gate
) -> None:
    block = square(-55.0)
    headset.silent(13.5)
    assert headset.without_leak(block, 14.0, 14.1) == block
    assert loudspeaker.without_leak(block, 11.0, 11.1) == block

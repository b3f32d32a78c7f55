"""What a played rehearsal leaves: every sentence and every utterance is in its picture."""

from __future__ import annotations

from pathlib import Path

from assistant import keepsakes
from assistant.core.script import mmss
from tests.rehearsals.golden import play_typed
from tests.wake import WAKE


def test_words_lie_in_the_lane_of_the_chair_they_name(tmp_path: Path) -> None:
    marks = keepsakes.timeline_of(*play_typed("two-clients", tmp_path))
    chairs = {mark.text: mark.chair for mark in marks.heard}
    assert {mark.chair for mark in marks.heard} == {1, 2, None}
    for text, chair in chairs.items():
        assert (chair == 1) == ("chair one" in f"{text} ")
        assert (chair == 2) == ("chair two" in f"{text} ")


def test_everything_of_the_transcript_is_in_the_picture(tmp_path: Path) -> None:
    script, played = play_typed("two-clients", tmp_path)
    marks = keepsakes.timeline_of(script, played)
    assert [m.text for m in marks.said] == [s.text for s in played.spoken]
    assert [mmss(m.at) for m in marks.heard] == [mmss(h.at) for h in played.heard]
    assert [lane.chair for lane in marks.heads] == [1, 2]
    assert marks.ends_at == played.ended_at


def test_a_chair_nobody_sits_in_is_the_room() -> None:
    named = keepsakes._chair_named
    assert named(f"{WAKE} chair two crown is on", {1, 2}) == 2
    assert named(f"{WAKE} chair three crown is on", {1, 2}) is None
    assert named("chair twenty one", {20, 21}) == 21
    assert named("chair one", {1}) == 1
    assert named("", {1}) is None

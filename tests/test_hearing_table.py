"""Does the hearing table count rights, rejections and wrong acts as a hand would?"""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant import app
from assistant.edges.recordings import Recording, read_manifest, recordings_folder
from assistant.hearing_table import MODES, Heard, Hearing, Outcome, hear_all, misses, table
from tests.wake import WAKE

ONE = Recording(
    file="one.wav",
    text=f"{WAKE.capitalize()}, crown is on",
    voice="af_sarah",
    noise="dryer",
    snr_db=12.0,
    room="none",
    seconds=3.0,
    speech_start=0.3,
    speech_end=2.1,
    licence="none",
    set="commands",
    sha256="",
)


def heard(outcome: Outcome, delay: float = 0.4, **changed: object) -> Heard:
    recording = replace(ONE, **changed)  # type: ignore[arg-type] # a test names real fields
    return Heard(recording, "open", f"{WAKE} crown is on", outcome, delay)


def row(lines: list[str], start: str) -> list[str]:
    (found,) = {line for line in lines if line.startswith(start)}
    return found.removeprefix(start).replace(" %", "").split()


def test_rights_rejections_and_wrong_acts_are_apart() -> None:
    result = Hearing(
        (
            heard("exact"),
            heard("exact"),
            heard("asked"),
            heard("rejected"),
            heard("wrong", voice="am_adam"),
        ),
        (),
        0.1,
    )
    lines = table(result)
    assert row(lines, "dryer 12 dB") == ["5", "40.0", "20.0", "20.0", "20.0"]
    assert row(lines, "af_sarah (stylist)") == ["4", "50.0", "25.0", "25.0", "0.0"]
    assert row(lines, "am_adam") == ["1", "0.0", "0.0", "0.0", "100.0"]


def test_a_line_that_is_no_command_any_more_is_named_and_not_counted() -> None:
    lines = table(Hearing((heard("exact"), heard("not a command now")), (), 0.1))
    assert row(lines, "dryer 12 dB")[:5] == ["1", "100.0", "0.0", "0.0", "0.0"]
    assert any("1 no longer commands" in line for line in lines)


def test_delay_counts_exact_commands_only_and_says_which_ended_after_the_recording() -> None:
    exact = [heard("exact", delay) for delay in (0.3, 0.4, 0.5, 1.0)]  # 0.9 s follow the speech
    lines = table(Hearing((*exact, heard("wrong", 0.1)), (), 0.1))
    # of 0.3 0.4 0.5 1.0 the upper median is 0.5; the 95th of a hundred falls on the last
    assert any("4 exact" in line and "median 500 ms" in line for line in lines)
    assert any(line.endswith("within 1000 ms") for line in lines)
    assert any(line.endswith("after the recording: 1") for line in lines)


def test_clean_comes_first_and_loud_noise_last() -> None:
    levels = (6.0, None, 20.0, 12.0)
    lines = table(Hearing(tuple(heard("exact", snr_db=level) for level in levels), (), 0.1))
    start = next(n for n, line in enumerate(lines) if line.startswith("by SNR"))
    found = [line.split()[0] for line in lines[start + 1 : start + 5]]
    assert found == ["clean", "20", "12", "6"]


def test_small_talk_that_acts_is_counted_in_its_mode_and_named() -> None:
    taken = heard("wrong", set="not commands")
    result = Hearing((), (taken, heard("rejected", set="not commands")), 0.1)
    assert any("open" in line and line.endswith("1 of 2") for line in table(result))
    told = f'taken for a command (open): one.wav: "{WAKE} crown is on"'
    assert list(misses(result)) == [told]


@pytest.mark.parametrize("kind", ["commands", "noise"])
def test_real_recordings_go_through_the_real_recogniser(kind: str) -> None:
    book = app.read_book()
    hearing = app.recorded_hearing(book, app.load_model(None, book, 4), 4)
    folder = recordings_folder()
    first = next(r for r in read_manifest(folder) if r.set == kind)
    result = hear_all(hearing, [first], folder)
    assert (len(result.commands), len(result.others)) == (
        (1, 0) if kind == "commands" else (0, len(MODES))
    )
    assert result.real_time_factor > 0
    if kind == "noise":
        assert {one.outcome for one in result.others} == {"rejected"}

"""A session as one sound: everything is where it belongs, in time and at the right pitch."""

from __future__ import annotations

import math
from array import array
from itertools import pairwise

import pytest

from assistant.core.events import Priority
from assistant.edges import tones
from assistant.edges.resample import resample
from assistant.edges.session_sound import RATE, SILENCE, Piece, Studio, mix
from assistant.edges.wav_files import Sound

PEAK = 12_000


def hum(hertz: float, seconds: float, rate: int = RATE, peak: int = PEAK) -> Sound:
    """A plain sine."""
    count = round(seconds * rate)
    turn = 2 * math.pi * hertz / rate
    return Sound(rate, array("h", (round(peak * math.sin(turn * i)) for i in range(count))))


def level(sound: Sound) -> float:
    """Mean level in dB below the sine that went in; the ends are left out."""
    part = sound.samples[100:-100]
    return 10 * math.log10(sum(v * v for v in part) / len(part) / (PEAK**2 / 2) + 1e-12)


def error(sound: Sound, wanted: Sound) -> float:
    """Level of the difference in dB below what was wanted; the ends are left out."""
    pairs = list(zip(sound.samples, wanted.samples, strict=True))[100:-100]
    wrong = sum((a - b) ** 2 for a, b in pairs) / len(pairs)
    return 10 * math.log10(wrong / (PEAK**2 / 2) + 1e-12)


# ------------------------------------------------------------- resampling


@pytest.mark.parametrize(
    ("rate", "at_most"), [(8_000, -30), (22_050, -50), (24_000, -45), (44_100, -30), (48_000, -30)]
)
@pytest.mark.parametrize("hertz", [200, 1_000, 3_000])
def test_a_sine_comes_out_as_the_same_sine(rate: int, at_most: float, hertz: int) -> None:
    """The speech we make (22.05 kHz) is 50 dB cleaner than what is wrong with it."""
    made = resample(hum(hertz, 0.4, rate), RATE)
    assert made.rate == RATE
    assert error(made, hum(hertz, 0.4)) < at_most


@pytest.mark.parametrize(("hertz", "at_most"), [(9_000, -20), (10_500, -40)])
def test_what_the_lower_rate_cannot_carry_is_kept_out(hertz: int, at_most: float) -> None:
    """By Nyquist's theorem 9 kHz would come back as 7 kHz."""
    assert level(resample(hum(hertz, 0.4, 22_050), RATE)) < at_most


def test_the_loudest_sound_does_not_wrap_around() -> None:
    """Between full-scale samples a wave rises above them; 16 bits would turn it over."""
    square = Sound(22_050, array("h", ([32767] * 50 + [-32768] * 50) * 40))
    made = resample(square, RATE).samples
    assert max(map(abs, made)) > 20_000
    flips = sum(1 for a, b in pairwise(made) if a * b < 0)
    assert flips == 79


def test_silence_and_nothing_stay_what_they_are() -> None:
    assert set(resample(Sound(22_050, array("h", bytes(2 * 999))), RATE).samples) == {0}
    assert resample(Sound(22_050, array("h")), RATE) == Sound(RATE, array("h"))
    same = hum(500, 0.1)
    assert resample(same, RATE).samples == same.samples


# ------------------------------------------------------------------- mixing


def test_full_length_keeps_real_time() -> None:
    made = mix([Piece(100.0, hum(500, 1)), Piece(10.0, hum(300, 2))], 300.0, full_length=True)
    assert made.sound.seconds == pytest.approx(300.0, abs=0.001)
    assert made.sound.samples[10 * RATE : 12 * RATE] == hum(300, 2).samples
    assert made.sound.samples[100 * RATE : 101 * RATE] == hum(500, 1).samples
    assert not any(made.sound.samples[12 * RATE : 100 * RATE])
    assert [made.file_time(at) for at in (0, 11, 77.5)] == pytest.approx([0, 11, 77.5], abs=0.001)


def test_a_long_silence_is_shortened_with_a_tick_for_every_minute() -> None:
    made = mix([Piece(0.0, hum(300, 1)), Piece(1 + 5 * 60 + 30, hum(500, 1))], 340.0)
    second = made.file_time(1 + 5 * 60 + 30)
    assert second < 1 + SILENCE + 5 * 0.3
    begins = round(second * RATE)
    assert made.sound.samples[begins : begins + RATE] == hum(500, 1).samples
    between = made.sound.samples[RATE:begins]
    assert between.tobytes().count(tones.tick(RATE).samples.tobytes()) == 5


def test_an_hour_of_silence_has_no_more_than_twelve_ticks() -> None:
    made = mix([Piece(0.0, hum(300, 1)), Piece(3600.0, hum(500, 1))], 3601.0)
    assert made.sound.samples.tobytes().count(tones.tick(RATE).samples.tobytes()) == 12
    assert made.file_time(3600.0) < 1 + SILENCE + 12 * 0.3


def test_a_short_silence_stays() -> None:
    made = mix([Piece(0.0, hum(300, 1)), Piece(2.5, hum(500, 1))], 3.5)
    assert made.sound.seconds == pytest.approx(3.5, abs=0.001)


def test_two_at_a_time_are_added_and_never_clipped() -> None:
    loud = hum(300, 1, peak=30_000)
    made = mix([Piece(0.0, loud), Piece(0.5, loud), Piece(0.75, loud)], 2.0)
    assert max(map(abs, made.sound.samples)) <= 32_767
    soft = hum(300, 1, peak=4_000)
    both = mix([Piece(0.0, soft), Piece(0.5, soft)], 1.5).sound.samples
    middle = round(0.7 * RATE)
    assert both[middle] == soft.samples[middle] + soft.samples[middle - RATE // 2]


def test_file_times_never_go_back_and_know_the_ends() -> None:
    pieces = [Piece(at, hum(300, 0.5)) for at in (3.0, 3.2, 90.0, 400.0, 400.5, 401.2)]
    made = mix(pieces, 500.0)
    times = [made.file_time(at / 4) for at in range(-8, 2200)]
    assert times == sorted(times)
    assert times[-1] == pytest.approx(made.sound.seconds)
    assert made.file_time(-2) == 0


def test_nothing_at_all_is_a_short_silence() -> None:
    made = mix([], 600.0)
    assert 0 < made.sound.seconds < 6


# ------------------------------------------------------------------- pieces


def test_a_sentence_comes_after_its_tone_and_is_cut_where_it_was_cut() -> None:
    studio, words = Studio(), hum(400, 1.0, 22_050)
    whole = studio.said(5.0, Priority.DUE, words)
    assert whole.sound.seconds == pytest.approx(tones.seconds(Priority.DUE) + 1.0, abs=0.001)
    lead = tones.lead(Priority.DUE, RATE).samples
    assert whole.sound.samples[: len(lead)] == lead
    assert studio.said(5.0, Priority.DUE, words, 0.5).ends_at == pytest.approx(5.5)
    assert studio.said(5.0, Priority.GUIDE, words).sound.seconds == pytest.approx(1.0, abs=0.001)


def test_a_sentence_said_twice_is_converted_once() -> None:
    studio, words = Studio(), hum(400, 0.3, 22_050)
    first, second = (studio.heard(at, words) for at in (0.0, 9.0))
    assert first.sound is second.sound

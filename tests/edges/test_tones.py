"""The tones, measured in their samples, against the figures that they follow.

Figures: IEC 60601-1-8, tables 3 and 4, as two open alarm sound generators quote them (one after
patent US 9,814,817); the standard itself was not seen. No compliance is claimed. That the first
half second must already differ is in NUREG-0700, 1.3.11.
"""

from __future__ import annotations

import cmath
import math
from itertools import pairwise

import pytest

from assistant.core.events import Priority
from assistant.edges import tones
from assistant.edges.wav_files import Sound

RATE = 16_000
TONED = [Priority.LIMIT, Priority.DUE, Priority.CHECK]
SILENT = 0.004  # seconds without a loud sample that end a pulse


def pulses(sound: Sound) -> list[tuple[float, float]]:
    """(begin, end) of every pulse in seconds: where samples exceed a tenth of the peak."""
    peak = max(map(abs, sound.samples))
    loud = [i for i, value in enumerate(sound.samples) if abs(value) > peak / 10]
    ends = [a for a, b in pairwise(loud) if b - a > SILENT * RATE] + [loud[-1]]
    begins = [loud[0]] + [b for a, b in pairwise(loud) if b - a > SILENT * RATE]
    return [(a / RATE, b / RATE) for a, b in zip(begins, ends, strict=True)]


def spacings(sound: Sound) -> list[float]:
    return [b[0] - a[1] for a, b in pairwise(pulses(sound))]


def partials(sound: Sound, pulse: tuple[float, float]) -> dict[int, float]:
    """Level in dB of the strongest multiples of the fundamental below 4 kHz, by frequency."""
    begin, end = (round(t * RATE) for t in pulse)
    part = sound.samples[begin:end]
    level = {}
    for frequency in range(100, 4000, 4):
        turn = -2j * math.pi * frequency / RATE
        total = sum(value * cmath.exp(turn * i) for i, value in enumerate(part))
        level[frequency] = 20 * math.log10(abs(total) / len(part) + 1e-9)
    peaks = [
        f for f in level
        if level[f] == max(level.get(g, -99.0) for g in range(f - 100, f + 101, 4))
    ]  # fmt: skip
    top = max(level.values())
    return {f: level[f] - top for f in peaks if level[f] > top - 15}


def test_urgent_tone_is_five_and_five_pulses() -> None:
    sound = tones.lead(Priority.LIMIT, RATE)
    lengths = [end - begin for begin, end in pulses(sound)]
    gaps = spacings(sound)
    assert len(lengths) == 10
    assert all(0.075 <= length <= 0.200 for length in lengths)
    assert 0.35 <= gaps[4] <= 1.30
    assert all(0.050 <= gap <= 0.125 for gap in gaps[:4] + gaps[5:])


def test_medium_tone_is_three_pulses() -> None:
    sound = tones.lead(Priority.DUE, RATE)
    assert len(pulses(sound)) == 3
    assert all(0.125 <= gap <= 0.250 for gap in spacings(sound))


def test_low_tone_is_one_or_two_pulses() -> None:
    assert len(pulses(tones.lead(Priority.CHECK, RATE))) in (1, 2)


@pytest.mark.parametrize("priority", TONED)
def test_pitch_and_harmonics(priority: Priority) -> None:
    sound = tones.lead(priority, RATE)
    for pulse in {round(end - begin, 3): (begin, end) for begin, end in pulses(sound)}.values():
        found = partials(sound, pulse)
        fundamental = min(found)
        assert 150 <= fundamental <= 1000
        harmonics = [f for f in found if abs(f / fundamental - round(f / fundamental)) < 0.05]
        assert len([f for f in harmonics if 300 <= f <= 4000]) >= 4, found


@pytest.mark.parametrize("priority", TONED)
def test_pulses_are_equally_loud_within_ten_decibels(priority: Priority) -> None:
    sound = tones.lead(priority, RATE)
    power = []
    for begin, end in pulses(sound):
        part = sound.samples[round(begin * RATE) : round(end * RATE)]
        power.append(10 * math.log10(sum(v * v for v in part) / len(part)))
    assert max(power) - min(power) < 10


def test_the_first_half_second_already_tells_them_apart() -> None:
    counts = [
        sum(begin < 0.5 for begin, _ in pulses(tones.lead(priority, RATE))) for priority in TONED
    ]
    assert counts == sorted(set(counts), reverse=True)


def test_the_more_urgent_the_louder() -> None:
    peaks = [max(map(abs, tones.lead(priority, RATE).samples)) for priority in TONED]
    assert peaks == sorted(peaks, reverse=True)
    assert peaks[0] < 0.7 * 32767


@pytest.mark.parametrize("rate", [16_000, 22_050, 44_100, 48_000])
@pytest.mark.parametrize("priority", list(Priority))
def test_length_is_as_told(priority: Priority, rate: int) -> None:
    assert tones.lead(priority, rate).seconds == pytest.approx(tones.seconds(priority), abs=0.001)


def test_answers_have_no_tone_and_words_come_after_a_pause() -> None:
    assert tones.seconds(Priority.GUIDE) == 0
    for priority in TONED:
        sound = tones.lead(priority, RATE)
        assert sound.seconds - pulses(sound)[-1][1] >= 0.1


def test_the_beep_that_stands_for_words_is_like_no_tone() -> None:
    assert len(pulses(tones.beep(RATE))) == 3
    first, _, last = pulses(tones.beep(RATE))
    assert min(partials(tones.beep(RATE), first)) > 1.5 * min(partials(tones.beep(RATE), last))

"""Are the shipped recordings what their manifest says, and can a line be found?"""

from __future__ import annotations

import hashlib
import json
import struct
from collections import Counter
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant import app
from assistant.core.events import Mode
from assistant.core.intents import Intent, understand
from assistant.edges import recordings
from assistant.edges.recordings import MANIFEST, ROLES, Recording, read_manifest, recording_for
from assistant.errors import ConfigError
from assistant.forge.fixtures import heard_in
from assistant.forge.fixtures_noise import dryer, level_db, resample, water
from assistant.forge.fixtures_room import (
    draw_room,
    impulse_response,
    measured_rt60,
)
from assistant.forge.fixtures_studio import _at_snr
from assistant.forge.fixtures_voices import EVERY_VOICE
from assistant.forge.voices import HELD_FOR_TEST

FOLDER = Path(__file__).parents[2] / "audio_fixtures"
SHIPPED = read_manifest(FOLDER)
SPOKEN = [recording for recording in SHIPPED if recording.text]
BOOK = app.read_book()
HZ = 16_000
Wave = NDArray[np.float64]


def decode(path: Path) -> tuple[tuple[int, ...], Wave]:
    """Header fields and samples, by the formula of ITU-T G.711 and not by our own reader."""
    raw = path.read_bytes()
    fields, data, place = (), b"", 12
    while place + 8 <= len(raw):
        name, size = struct.unpack("<4sI", raw[place : place + 8])
        body = raw[place + 8 : place + 8 + size]
        if name == b"fmt ":
            fields = struct.unpack("<HHIIHH", body[:16])
        if name == b"data":
            data = body
        place += 8 + size + size % 2
    code = ~np.frombuffer(data, np.uint8)
    exponent, mantissa = (code.astype(int) >> 4) & 7, code.astype(int) & 15
    # G.711 decodes to 14 bits: ((2 m + 33) << e) - 33; times 4 for 16 bits
    height = (((2 * mantissa + 33) << exponent) - 33) * 4
    return fields, np.where(code & 0x80, -height, height) / 32768.0


def span(recording: Recording, wave: Wave) -> Wave:
    assert recording.speech_start is not None
    assert recording.speech_end is not None
    return wave[int(recording.speech_start * HZ) : int(recording.speech_end * HZ)]


def around(recording: Recording, wave: Wave) -> Wave:
    """Before the speech, and after it has rung out."""
    assert recording.speech_start is not None
    assert recording.speech_end is not None
    ringing = int((recording.speech_end + 0.4) * HZ)
    return np.concatenate([wave[: int((recording.speech_start - 0.02) * HZ)], wave[ringing:]])


WAVES = {recording.file: decode(FOLDER / recording.file) for recording in SHIPPED}


def test_manifest_and_folder_name_the_same_files() -> None:
    assert sorted(r.file for r in SHIPPED) == sorted(p.name for p in FOLDER.glob("*.wav"))
    assert len({r.key for r in SHIPPED}) == len(SHIPPED)


def test_every_file_is_the_one_that_was_made() -> None:
    for recording in SHIPPED:
        found = hashlib.sha256((FOLDER / recording.file).read_bytes()).hexdigest()
        assert found == recording.sha256, recording.file


def test_format_is_mulaw_16_khz_mono_and_the_length_is_right() -> None:
    for recording in SHIPPED:
        fields, wave = WAVES[recording.file]
        # RIFF WAVE format tag 7 is mu-law (RFC 2361)
        assert fields == (7, 1, HZ, HZ, 1, 8), recording.file
        assert len(wave) / HZ == pytest.approx(recording.seconds, abs=0.001)


def test_the_folder_stays_small() -> None:
    assert sum(path.stat().st_size for path in FOLDER.rglob("*")) <= 20_000_000


def test_no_certification_voice_speaks() -> None:
    kept = {"af_bella", "am_puck", "bf_emma", "bm_lewis", "joe"}
    assert not kept & {r.voice for r in SHIPPED}
    assert not kept & {*EVERY_VOICE, *ROLES.values()}


def test_the_speech_model_never_learns_from_the_voices_of_the_roles() -> None:
    assert set(ROLES.values()) == HELD_FOR_TEST


def test_enough_voices_noises_and_lines() -> None:
    commands = [r for r in SHIPPED if r.set == "commands"]
    assert len(commands) >= 100
    assert len([r for r in SHIPPED if r.set in ("commands", "rehearsal")]) >= 200
    assert len([r for r in SHIPPED if r.set == "not commands"]) >= 40
    voices = {r.voice for r in commands}
    assert {v[:2] for v in voices} >= {"af", "am", "bf", "bm"}
    assert len(voices) >= 12
    scenes = Counter((r.noise, r.snr_db) for r in commands)
    wanted = {(n, s) for n in ("dryer", "water", "chatter") for s in (20.0, 12.0, 6.0)}
    assert set(scenes) == wanted | {("clean", None)}
    assert min(scenes.values()) >= 8
    assert {r.noise for r in SHIPPED if r.set == "noise"} == {"dryer", "water", "chatter", "quiet"}


def meanings(text: str) -> set[str]:
    """Names of the commands that a line is, over all modes; the wake word makes modes equal."""
    said, words, names = recordings.spoken_words(text), BOOK.words, BOOK.names(4)
    modes: tuple[Mode, ...] = ("open",) if words.wake in said.split()[:1] else get_args(Mode)
    found = (understand(said, words, names, mode, woken=False) for mode in modes)
    return {one.name for one in found if isinstance(one, Intent)}


def test_every_command_is_recorded_and_every_command_recording_is_one() -> None:
    heard: set[str] = set()
    for recording in SHIPPED:
        names = meanings(recording.text)
        if recording.set == "commands":
            assert names, recording.text
            heard |= names
        elif recording.set != "rehearsal":
            assert not names, recording.text
    assert heard == {command.name for command in BOOK.words.commands}


def test_digital_silence_never_occurs_and_clean_rooms_hiss_at_the_stated_floor() -> None:
    for recording in SHIPPED:
        _, wave = WAVES[recording.file]
        changes = np.flatnonzero(np.diff(wave))
        assert np.diff(changes).max() < HZ // 100, recording.file
        if recording.noise == "quiet":
            assert level_db(wave) == pytest.approx(-69, abs=2)
        elif recording.noise == "clean":
            before = wave[: int(0.18 * HZ)]
            assert level_db(before) == pytest.approx(-69, abs=2), recording.file


def test_levels_and_times() -> None:
    for recording in SPOKEN:
        _, wave = WAVES[recording.file]
        assert recording.speech_start is not None
        assert recording.speech_end is not None
        before, after = (0.3, 0.9)
        if recording.set == "rehearsal":
            before, after = (0.2, 0.35 if recording.noise == "clean" else 0.6)
        assert recording.speech_start >= before
        assert recording.seconds - recording.speech_end == pytest.approx(after, abs=0.002)
        assert np.abs(wave).max() < 0.95
        # speech -30 to -24 dBFS; at 6 dB the noise adds 1 dB
        assert -31 < level_db(span(recording, wave)) < -22, recording.file


def test_clean_speech_begins_and_ends_where_the_manifest_says() -> None:
    clean = [r for r in SPOKEN if r.noise == "clean"]
    assert len(clean) > 50
    for recording in clean:
        _, wave = WAVES[recording.file]
        speech = span(recording, wave)
        assert level_db(speech[: HZ // 20]) > -64, recording.file
        assert level_db(speech[-HZ // 10 :]) > -64, recording.file
        first = int((recording.speech_start or 0) * HZ)
        assert level_db(wave[first - HZ // 10 : first - HZ // 100]) < -60, recording.file


@pytest.mark.parametrize("noise", ["dryer", "water", "chatter"])
@pytest.mark.parametrize("snr_db", [20.0, 12.0, 6.0])
def test_snr_measured_from_the_recording_is_the_stated_one(noise: str, snr_db: float) -> None:
    """Noise measured where nobody speaks. Water and chatter come and go: their median is held."""
    measured = []
    for recording in SPOKEN:
        if (recording.noise, recording.snr_db) == (noise, snr_db):
            _, wave = WAVES[recording.file]
            behind = np.mean(around(recording, wave) ** 2)
            measured.append(10 * np.log10(np.mean(span(recording, wave) ** 2) / behind - 1))
    assert np.median(measured) == pytest.approx(snr_db, abs=0.3 if noise == "dryer" else 1.5)
    if noise == "dryer":
        assert np.max(np.abs(np.array(measured) - snr_db)) < 1.0


def test_every_line_of_the_rehearsals_has_its_recording() -> None:
    scripts = sorted((FOLDER / "rehearsals").glob("*.yaml"))
    assert scripts
    for script in scripts:
        for line in heard_in(script):
            assert recording_for(line.text, line.voice, line.noise, line.snr_db, FOLDER).is_file()


def test_a_line_is_found_by_role_whatever_its_capitals_and_commas(tmp_path: Path) -> None:
    write(tmp_path, text="Periwinkle, crown is on.", voice=ROLES["trainee"])
    found = recording_for("periwinkle crown is ON", "trainee", folder=tmp_path)
    assert found == tmp_path / "one.wav"


@pytest.mark.parametrize(
    ("text", "voice", "noise", "snr"),
    [
        ("Periwinkle, crown is off", "trainee", "clean", None),
        ("Periwinkle, crown is on", "stylist", "clean", None),
        ("Periwinkle, crown is on", "trainee", "dryer", 12),
    ],
)
def test_an_unknown_line_names_the_command_that_makes_it(
    tmp_path: Path, text: str, voice: str, noise: str, snr: int | None
) -> None:
    write(tmp_path, text="Periwinkle, crown is on.", voice=ROLES["trainee"])
    with pytest.raises(ConfigError, match=r"python -m assistant\.forge fixtures"):
        recording_for(text, voice, noise, snr, tmp_path)


@pytest.mark.parametrize("line", ["{", '{"file": "one.wav"}', "[]"])
def test_a_damaged_manifest_names_its_line(tmp_path: Path, line: str) -> None:
    write(tmp_path, text="Periwinkle, crown is on.", voice="af_sky")
    with (tmp_path / MANIFEST).open("a", encoding="utf-8") as manifest:
        manifest.write(line + "\n")
    with pytest.raises(ConfigError, match=r"manifest.jsonl:2: "):
        read_manifest(tmp_path)


def write(folder: Path, text: str, voice: str) -> None:
    values: dict[str, str | None] = dict.fromkeys(Recording.__slots__)
    values |= {"file": "one.wav", "text": text, "voice": voice, "noise": "clean"}
    (folder / MANIFEST).write_text(json.dumps(values) + "\n", encoding="utf-8")


def test_a_room_rings_as_long_as_it_says_and_sound_needs_its_time() -> None:
    rng = np.random.default_rng(3)
    for _ in range(4):
        room = draw_room(rng)
        response = impulse_response(room, rng)
        # Schroeder's backward integral, T20 (ISO 3382)
        assert measured_rt60(response) == pytest.approx(room.rt60, rel=0.05)
        # 343 m/s at 20 degrees; nothing may arrive before the direct sound
        assert np.flatnonzero(response)[0] == int(room.distance / 343 * HZ)


def test_noise_is_laid_at_the_stated_snr() -> None:
    rng = np.random.default_rng(4)
    speech, noise = rng.normal(0, 0.1, HZ), rng.normal(0, 3.0, HZ)
    laid = _at_snr(noise, speech, (0.25, 0.75), 12.0)
    part = slice(HZ // 4, 3 * HZ // 4)
    ratio = np.mean(speech[part] ** 2) / np.mean(laid[part] ** 2)
    assert ratio == pytest.approx(10**1.2)  # the definition of a decibel


def test_resampling_keeps_a_tone_and_its_height() -> None:
    time = np.arange(24_000) / 24_000
    made = resample(np.sin(2 * np.pi * 440 * time), 24_000, HZ)
    assert made == pytest.approx(np.sin(2 * np.pi * 440 * np.arange(HZ) / HZ), abs=1e-9)


def test_noises_differ_in_colour_and_none_is_silent() -> None:
    rng = np.random.default_rng(5)
    for made in (dryer(2.0, rng), water(2.0, rng)):
        blocks = made[: len(made) // 1600 * 1600].reshape(-1, 1600)
        assert np.ptp([level_db(block) for block in blocks]) < 12
    power = np.abs(np.fft.rfft(dryer(2.0, rng))) ** 2
    below, above = power[200:6000].sum(), power[6000:].sum()  # 100 Hz to 3 kHz, and the rest
    assert below > above

"""Who speaks in the recordings, and under which licence?

Kokoro's English voices but the certification ones, and a few older synthesisers for variety.
All are synthetic: they steer the work, they do not prove that people are understood.
"""

from __future__ import annotations

import re
import tempfile
import wave
from pathlib import Path

import numpy as np

from assistant.edges.recordings import ROLES
from assistant.forge.fixtures_noise import resample
from assistant.forge.fixtures_room import HZ, Wave, without_rumble
from assistant.forge.synth import KOKORO_HZ, Kokoro, run_tool

# af_nicole whispers and am_santa acts a part: neither is how a stylist speaks.
KOKORO_VOICES = tuple(
    "af_alloy af_aoede af_heart af_jessica af_kore af_nova af_river af_sarah af_sky "
    "am_adam am_echo am_eric am_fenrir am_liam am_michael am_onyx "
    "bf_alice bf_isabella bf_lily bm_daniel bm_fable bm_george".split()
)
FLITE_VOICES = ("flite_slt", "flite_rms", "flite_awb")
# Flite's dictionary lacks these words, and its guess is another word ("per-eye-wunkle").
FLITE_SPELLS = {"periwinkle": "perry winkle"}
ESPEAK_VOICES = {"espeak_gb": "en-gb-x-rp", "espeak_us": "en-us"}
EVERY_VOICE = (*KOKORO_VOICES, *FLITE_VOICES, *ESPEAK_VOICES)
# The voices of the roles come twice as often: the speech model never learned from them.
COMMAND_VOICES = (*EVERY_VOICE, *ROLES.values())
CHATTER_VOICES = KOKORO_VOICES[1::2]
EDGE_DB = 40.0
FRAME = HZ // 100
SMOOTH = 5  # frames
LICENCES = {
    "kokoro": "Apache-2.0 (Kokoro-82M weights and voices)",
    "flite": "CMU Flite and its voices, BSD style (program run, output kept)",
    "espeak": "made with eSpeak NG (GPL-3.0-or-later program; its output is free)",
}


def licence(voice: str) -> str:
    """Licence of the voice's synthesiser."""
    family = voice.split("_")[0]
    return LICENCES.get(family, LICENCES["kokoro"])


class Cast:
    """Every voice behind one method."""

    def __init__(self, kokoro: Kokoro | None = None) -> None:
        self.kokoro = kokoro or Kokoro()

    def say(self, text: str, voice: str, speed: float) -> Wave:
        """The words at 16 kHz, cut to the speech itself, at RMS 1."""
        if voice in FLITE_VOICES:
            heard = _run_flite(text, voice.removeprefix("flite_"), speed)
        elif voice in ESPEAK_VOICES:
            heard = _run_espeak(text, ESPEAK_VOICES[voice], speed)
        else:
            heard = resample(self.kokoro.say(text, voice, speed), KOKORO_HZ, HZ)
        speech = cut_to_speech(without_rumble(heard))
        return np.asarray(speech / speech.std())


def cut_to_speech(heard: Wave) -> Wave:
    """From the first to the last moment within EDGE_DB of the loudest; a click does not count."""
    frames = heard[: len(heard) // FRAME * FRAME].reshape(-1, FRAME)
    power = np.convolve(np.mean(frames**2, axis=1), np.full(SMOOTH, 1 / SMOOTH), mode="same")
    loud = np.flatnonzero(power > power.max() * 10 ** (-EDGE_DB / 10))
    return heard[loud[0] * FRAME : (loud[-1] + 1) * FRAME]


def _run_flite(text: str, voice: str, speed: float) -> Wave:
    for word, spelling in FLITE_SPELLS.items():
        text = re.sub(word, spelling, text, flags=re.IGNORECASE)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        stretch = f"duration_stretch={1 / speed:.3f}"
        run_tool(
            ["flite", "-voice", voice, "--setf", stretch, "-t", text, str(out)],
            "Debian's flite",
        )
        return _read_wave(out)


def _run_espeak(text: str, voice: str, speed: float) -> Wave:
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        words_a_minute = str(round(165 * speed))
        run_tool(
            ["espeak-ng", "-v", voice, "-s", words_a_minute, "-w", str(out), text],
            "Debian's espeak-ng",
        )
        return _read_wave(out)


def _read_wave(path: Path) -> Wave:
    with wave.open(str(path)) as source:
        hz = source.getframerate()
        samples = np.frombuffer(source.readframes(source.getnframes()), np.int16)
    return resample(samples / 32768.0, hz, HZ)

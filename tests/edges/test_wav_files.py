"""WAV files against the G.711 tables, against sox, and when they are damaged."""

from __future__ import annotations

import random
import shutil
import struct
import subprocess
from array import array
from pathlib import Path

import pytest

from assistant.edges import wav_files
from assistant.edges.wav_files import Sound
from assistant.errors import ConfigError, StoreError

# ITU-T G.711 (11/88), tables 2a and 2b (mu-law), decoder output values; typed from memory and
# confirmed by the comparison with sox below. Here
# times 4 (14 bits -> 16): character signal (first bit is the sign, 1 = positive) and value.
G711 = [
    (0b1000_0000, 8031),
    (0b1000_1111, 4191),
    (0b1001_1111, 2079),
    (0b1010_1111, 1023),
    (0b1011_1111, 495),
    (0b1100_1111, 231),
    (0b1101_1111, 99),
    (0b1110_1111, 33),
    (0b1111_1110, 2),
    (0b1111_1111, 0),
]


def mulaw_wav(codes: bytes, rate: int = 16_000) -> bytes:
    """A WAV file as the format's description has it, made here byte by byte."""
    fmt = struct.pack("<HHIIHH", 7, 1, rate, rate, 1, 8)
    body = b"WAVE" + b"fmt " + struct.pack("<I", 16) + fmt
    body += b"data" + struct.pack("<I", len(codes)) + codes + b"\0" * (len(codes) % 2)
    return b"RIFF" + struct.pack("<I", len(body)) + body


@pytest.mark.parametrize(("code", "value"), G711)
def test_mulaw_values_of_g711(tmp_path: Path, code: int, value: int) -> None:
    path = tmp_path / "one.wav"
    path.write_bytes(mulaw_wav(bytes([code, code & 0x7F])))
    assert list(wav_files.read(path).samples) == [4 * value, -4 * value]


def test_every_mulaw_code_is_written_as_it_was_read(tmp_path: Path) -> None:
    first, second = tmp_path / "a.wav", tmp_path / "b.wav"
    codes = bytes(code for code in range(256) if code != 0x7F)  # 0x7F is a second zero
    first.write_bytes(mulaw_wav(codes))
    wav_files.write(second, wav_files.read(first), mulaw=True)
    assert second.read_bytes() == first.read_bytes()


def some_sound(rate: int = 16_000) -> Sound:
    chance = random.Random(4)
    return Sound(rate, array("h", (chance.randint(-32768, 32767) for _ in range(5001))))


@pytest.mark.parametrize("mulaw", [False, True])
def test_sox_reads_the_same_samples(tmp_path: Path, mulaw: bool) -> None:
    if shutil.which("sox") is None:
        pytest.skip("sox is not installed: no second reader to compare with")
    path = tmp_path / "ours.wav"
    wav_files.write(path, some_sound(), mulaw=mulaw)
    raw = ["-t", "raw", "-e", "signed", "-b", "16", "-"]
    theirs = subprocess.run(["sox", str(path), *raw], check=True, capture_output=True).stdout
    assert array("h", theirs) == wav_files.read(path).samples


def test_what_sox_encodes_is_read(tmp_path: Path) -> None:
    if shutil.which("sox") is None:
        pytest.skip("sox is not installed: no second writer to compare with")
    plain, coded, back = (tmp_path / name for name in ("plain.wav", "coded.wav", "back.wav"))
    wav_files.write(plain, some_sound())
    subprocess.run(["sox", "-D", plain, "-e", "mu-law", coded], check=True)
    subprocess.run(["sox", "-D", coded, "-e", "signed", "-b", "16", back], check=True)
    assert wav_files.read(coded).samples == wav_files.read(back).samples


def test_pcm_comes_back_exactly(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "er" / "pcm.wav"
    wav_files.write(path, some_sound(22_050))
    assert wav_files.read(path) == some_sound(22_050)
    assert some_sound(22_050).seconds == pytest.approx(5001 / 22_050)


def pcm_wav(channels: int = 1, rate: int = 16_000, kind: int = 1, bits: int = 16) -> bytes:
    fmt = struct.pack("<HHIIHH", kind, channels, rate, rate * 2 * channels, 2 * channels, bits)
    data = bytes(64)
    body = b"WAVE" + b"fmt " + struct.pack("<I", 16) + fmt
    return b"RIFF" + struct.pack("<I", 36 + 64) + body + b"data" + struct.pack("<I", 64) + data


BAD = [
    (b"", "the file is empty"),
    (b"ID3 not sound at all", "not a WAV file"),
    (pcm_wav(channels=2), "2 channels: mix it down"),
    (pcm_wav(rate=96_000), "96000 samples a second"),
    (pcm_wav(rate=0), "0 samples a second"),
    (pcm_wav(kind=3, bits=32), "format 3, 32 bits"),
    (pcm_wav()[:-1], "cut off"),
    (pcm_wav()[:30], "cut off"),
    (mulaw_wav(b""), "no sound in it"),
]


@pytest.mark.parametrize(("raw", "said"), BAD)
def test_what_cannot_be_used_is_said_in_one_line(tmp_path: Path, raw: bytes, said: str) -> None:
    path = tmp_path / "bad.wav"
    path.write_bytes(raw)
    with pytest.raises(ConfigError) as caught:
        wav_files.read(path)
    line = str(caught.value)
    assert said in line
    assert line.startswith(str(path))
    assert "\n" not in line


@pytest.mark.parametrize("length", range(len(pcm_wav())))
def test_a_file_cut_off_anywhere_is_refused(tmp_path: Path, length: int) -> None:
    path = tmp_path / "cut.wav"
    path.write_bytes(pcm_wav()[:length])
    with pytest.raises(ConfigError):
        wav_files.read(path)


def test_a_missing_file_and_a_wrong_rate(tmp_path: Path) -> None:
    with pytest.raises(ConfigError, match="no such file"):
        wav_files.read(tmp_path / "none.wav")
    path = tmp_path / "slow.wav"
    wav_files.write(path, some_sound(8000))
    with pytest.raises(ConfigError, match="8000 samples a second, wanted 16000"):
        wav_files.read(path, rate=16_000)


def test_chunks_between_are_passed_over(tmp_path: Path) -> None:
    whole, path = mulaw_wav(b"\x80\x81\x82"), tmp_path / "notes.wav"
    path.write_bytes(whole[:12] + b"LIST" + struct.pack("<I", 3) + b"abc\0" + whole[12:])
    assert len(wav_files.read(path).samples) == 3


def test_a_disk_that_refuses_leaves_nothing_behind(tmp_path: Path) -> None:
    (tmp_path / "taken").mkdir()
    with pytest.raises(StoreError, match="not written"):
        wav_files.write(tmp_path / "taken", some_sound())
    assert [path.name for path in tmp_path.iterdir()] == ["taken"]

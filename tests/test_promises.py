"""No network, no planted name in a file, known licences, and figures that are told alike.

Short versions of `python -m tests.proof offline planted supply`; those of D1 to D12 are in the
tests of clock, journal and rehearsals. `python -m tests.proof wheels` needs several Pythons.
"""

from __future__ import annotations

import re
from importlib.metadata import distributions
from pathlib import Path

from tests.proof import offline, planted, supply
from tests.proof.outcome import Outcome, table

ROOT = Path(__file__).resolve().parent.parent
NUMBER = re.compile(r"\d+(?:[.,:]\d+)*")


def _holds(outcomes: list[Outcome]) -> None:
    assert all(each.trials for each in outcomes)
    assert not any(each.failures for each in outcomes), table(outcomes)


def test_nothing_asks_for_the_network() -> None:
    _holds(offline.prove(short=True))


def test_names_and_voices_in_the_room_are_in_no_file() -> None:
    _holds(planted.prove(short=True))


def test_the_search_finds_what_is_there(tmp_path: Path) -> None:
    """A name and a piece of the microphone's sound, written on purpose."""
    block = b"".join(n.to_bytes(2, "little") for n in range(300, 1900))
    (tmp_path / "note.txt").write_text("for Mrs QUILLFEATHER", encoding="utf-8")
    (tmp_path / "cache.bin").write_bytes(b"x" + block[96:192])
    (tmp_path / "voice.wav").write_bytes(b"RIFF....WAVE")
    found = {(name, told) for name, told in planted.search(tmp_path, [block], 1)}
    assert ("note.txt", "names: Quillfeather") in found
    assert ("cache.bin", "samples of the microphone: some") in found
    assert ("voice.wav", "sound files: [b'RIFF']") in found


def test_every_licence_is_known_and_every_package_is_pinned() -> None:
    _holds(supply.prove(short=True))


def test_a_licence_that_nobody_looked_at_is_noticed(tmp_path: Path) -> None:
    folder = tmp_path / "odd-1.0.dist-info"
    folder.mkdir()
    text = "Metadata-Version: 2.1\nName: odd\nVersion: 1.0\nLicense: Proprietary, ask us\n"
    (folder / "METADATA").write_text(text, encoding="utf-8")
    (odd,) = distributions(path=[str(tmp_path)])
    assert supply.licence_of(odd) == ""


def test_the_figures_told_to_users_are_those_of_the_proofs() -> None:
    """Every number of the README's section of promises stands in FIGURES.md."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    section = readme.partition("\n## What is promised")[2].partition("\n## ")[0]
    told = set(NUMBER.findall(section))
    figures = (ROOT / "tests" / "proof" / "FIGURES.md").read_text(encoding="utf-8")
    assert len(told) > 20
    assert told - set(NUMBER.findall(figures)) == set()

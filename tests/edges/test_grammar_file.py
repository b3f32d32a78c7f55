"""Is the word grammar that we write the one that the recogniser reads?"""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.core.endings import Attention
from assistant.core.intents import Names
from assistant.core.language import Arc, Language
from assistant.edges import grammar_file, recordings, wav_files
from assistant.edges.hearing import with_floor
from assistant.edges.recogniser import Listener, Model, bundled_model, hear
from assistant.edges.word_files import load_commands
from assistant.errors import ConfigError
from tests.wake import WAKE

SAID = f"{WAKE} what can i say"


def only(*phrases: str) -> Language:
    """These phrases and nothing else, all equally likely."""
    arcs, ends, states = [], [], 1
    for phrase in phrases:
        state = 0
        for word in phrase.split():
            arcs.append(Arc(state, states, word, 0.0))
            state, states = states, states + 1
        ends.append((state, 0.0))
    return Language(tuple(arcs), tuple(ends), states)


def heard(model: Model, language: Language) -> str:
    sound = wav_files.read(recordings.recording_for(SAID), rate=16_000)
    attention = Attention(load_commands(), Names(4, (), (), (), ()), "open")
    return hear(Listener(model, language, attention), with_floor(sound)).text


def test_the_recogniser_hears_by_our_grammar_and_by_nothing_else() -> None:
    model = Model(bundled_model())
    assert heard(model, only(SAID, "crown is on")) == SAID
    assert heard(model, only("crown is on", "give it five")) in ("crown is on", "give it five", "")


def test_the_vocabulary_is_read_from_the_models_own_grammar() -> None:
    vocabulary = grammar_file.read_vocabulary(bundled_model())
    model = Model(bundled_model())
    assert vocabulary.numbers["<eps>"] == 0
    assert model.unknown([WAKE, "crown", "[unk]"]) == []
    assert {WAKE, "crown", "[unk]"} <= set(vocabulary.numbers)
    assert "shampooist" not in vocabulary.numbers
    assert not model.knows("shampooist")


def test_written_and_read_again_the_words_are_the_same() -> None:
    vocabulary = grammar_file.read_vocabulary(bundled_model())
    content = grammar_file.grammar_bytes(only("crown is on", "no suchword here"), vocabulary)
    assert grammar_file._vocabulary(content) == vocabulary  # the reader's own half


def test_a_folder_borrows_everything_else(tmp_path: Path) -> None:
    vocabulary = grammar_file.read_vocabulary(bundled_model())
    with grammar_file.model_that_speaks(only(SAID), bundled_model(), vocabulary) as folder:
        for part in ("am/final.mdl", "conf/model.conf", "graph/HCLr.fst"):
            assert (folder / part).read_bytes() == (bundled_model() / part).read_bytes()
        assert not (folder / grammar_file.GRAMMAR).is_symlink()
    assert not folder.exists()


@pytest.mark.parametrize(
    "content", [b"", b"no automaton at all", b"\xd6\xfd\xb2\x7e\x05\0\0\0cons"]
)
def test_a_damaged_model_is_named(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "graph").mkdir()
    (tmp_path / grammar_file.GRAMMAR).write_bytes(content)
    with pytest.raises(ConfigError, match="no list of words"):
        grammar_file.read_vocabulary(tmp_path)

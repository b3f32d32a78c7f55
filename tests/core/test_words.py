"""The two word files against each other, the code and the model."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

import assistant
from assistant.core import due, head
from assistant.core.endings import Attention
from assistant.core.events import Mode, Priority
from assistant.core.intents import Intent, Names, every_phrase, filled, understand
from assistant.core.phrases import placeholders, render
from assistant.core.salon import names_of
from assistant.core.talk import FITTING
from assistant.edges import recipe_files
from assistant.edges.word_files import load_commands, load_phrases
from tests.wake import WAKE

WORDS = load_commands()
PHRASES = load_phrases()
RECIPES, _ = recipe_files.load_all()
NAMES: Names = names_of(WORDS, RECIPES, 4)
MODES: tuple[Mode, ...] = get_args(Mode)
SOURCES = "\n".join(
    p.read_text(encoding="utf-8")
    for p in sorted((Path(assistant.__file__).parent / "core").glob("*.py"))
)


def used_phrases() -> set[str]:
    """Every phrase the core can ask for, families spelled out."""
    named = set(re.findall(r'reply\(\s*"([a-z_]+)"', SOURCES))
    named |= {f"gate_{q.replace(' ', '_')}" for q in head.GATE}
    named |= {f"not_now_{state}" for state in head.STATES}
    named |= {f"call_{kind}" for kind in due.PRIORITY}
    named |= {"call_limit_late", "call_due_late"}
    rooms = ("microphone", "loudspeaker", "disk")  # these are at no chair
    first = [k for k, p in due.PRIORITY.items() if p == Priority.LIMIT and k not in rooms]
    named |= {f"call_{kind}_chairs" for kind in first}
    named |= {f"back_{d}" for d in ("microphone", "loudspeaker", "disk")}
    named |= {f"still_to_tell_{what}" for what in ("both", "result", "home_care")}
    named |= {f"why_{s}" for s in ("gate", "develop", "rinse")}
    named |= {f"next_{k}" for k in ("check", "due", "limit", "start")}
    stops = re.findall(r'"(test_missing|test_reaction|line_other|scalp_sore|age_under)"', SOURCES)
    named |= {f"gate_stop_{why}" for why in stops}
    named |= {f"confirm_{c.name}" for c in WORDS.commands if c.risk == "stop"}
    return named


def test_every_say_has_a_phrase_and_the_reverse() -> None:
    quoted = set(re.findall(r'"([a-z_]+)"', SOURCES))
    known = set(PHRASES.phrases)
    assert used_phrases() - known == set()
    assert {p for p in known if p not in used_phrases() and p not in quoted} == set()


def test_only_the_word_file_names_the_wake_word() -> None:
    package = Path(assistant.__file__).parent
    sources = [p for p in package.rglob("*.py") if "forge" not in p.parts]  # it compares candidates
    assert len(sources) > 100
    assert [p.name for p in sources if WAKE in p.read_text(encoding="utf-8").lower()] == []


def every_sentence() -> list[tuple[str, str]]:
    """Each phrase filled with plain values."""
    sample = {
        name: "crown" for template in PHRASES.phrases.values() for name in placeholders(template)
    }
    numbers = "chair days least most check limit opens closes left wait asked first second on due"
    filled = dict.fromkeys((*numbers.split(), "over", "late", "away", "colour", "developer"), 13)
    return [
        (name, render(template, {**sample, **filled, "zones": ("crown", "nape")}))
        for name, template in PHRASES.phrases.items()
    ]


def as_heard(sentence: str) -> str:
    return " ".join(re.findall(r"[a-z']+", sentence.lower()))


@pytest.mark.parametrize(("name", "sentence"), every_sentence())
def test_nothing_it_says_is_a_command(name: str, sentence: str) -> None:
    heard = as_heard(sentence)
    assert WORDS.wake not in heard.split()
    for mode in MODES:
        if PHRASES.is_example(name):
            continue
        for part in [heard, *(as_heard(p) for p in re.split(r"[.?!:]", sentence))]:
            meant = understand(part, WORDS, NAMES, mode, woken=False)
            assert not isinstance(meant, Intent), f"{name} in mode {mode}: {part!r} is {meant}"


@pytest.mark.parametrize("name", [n for n in PHRASES.phrases if n.startswith("call_")])
def test_a_call_has_at_most_eight_words(name: str) -> None:
    sentence = dict(every_sentence())[name].lower().replace("crown and nape", "crown")
    assert len(as_heard(sentence).split()) <= 8


def test_no_phrase_means_two_things_in_one_mode() -> None:
    for mode in MODES:
        for phrase in every_phrase(WORDS, NAMES, mode):
            if mode != "open" and phrase.startswith(WORDS.wake):
                continue  # the same in every mode
            meant = understand(phrase, WORDS, NAMES, mode, woken=False)
            assert isinstance(meant, Intent), f"{phrase!r} in {mode}: {meant}"


def test_no_decoy_is_a_command() -> None:
    for decoy in [said for words in WORDS.decoys for said in filled(words, NAMES)]:
        for mode in MODES:
            for said in (decoy, f"{WORDS.wake} {decoy}"):
                assert not isinstance(understand(said, WORDS, NAMES, mode, False), Intent), said


def test_every_command_has_help_and_every_state_two_examples() -> None:
    assert all(command.help for command in WORDS.commands)
    names = {command.name for command in WORDS.commands}
    assert {n for pair in FITTING.values() for n in pair} <= names
    assert set(FITTING) == {*head.STATES, "none"}


@pytest.mark.parametrize(
    ("said", "settled"),
    [
        (f"{WAKE} crown is on", True),
        (f"{WAKE} how long", True),
        (f"{WAKE} give it twenty", True),
        (f"{WAKE} sixteen", False),
        (f"{WAKE} chair two sixteen", False),
        (f"{WAKE} chair two", False),
        (f"{WAKE} crown is", False),
        (f"{WAKE} mix forty grams at one to one", False),
        (f"{WAKE} mix forty grams at one to one and a half", True),
        (f"{WAKE} client number one nine", False),
        (f"{WAKE} client number one nine two five", True),
        (f"{WAKE} chair one is client forty", False),
        (f"{WAKE} chair one is client forty one", True),
    ],
)
def test_what_may_become_another_command_is_not_settled(said: str, *, settled: bool) -> None:
    assert Attention(WORDS, NAMES, "gate").is_settled(said) is settled

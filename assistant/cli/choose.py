"""`swatchword choose`: from a few facts to recipes, each with what speaks for and against it."""

from __future__ import annotations

import argparse
import sys
from contextlib import closing
from pathlib import Path

from assistant.cli import salon_records
from assistant.core.choose import RuleBook, advise
from assistant.core.consultation import FACTS, Consultation, Words, consultation_from, fact_words
from assistant.edges import choosing_file, recipe_files
from assistant.errors import ConfigError

ABOUT = """\
Proposes recipes with the reason for each and what speaks against it; the stylist decides. What
would hurt the client stops it. Without facts it asks them one by one; the rules are a table in
assistant/words/choosing.yaml that a salon can edit (--rules FILE).
"""
EXAMPLES = """\
examples:
  swatchword choose
  swatchword choose earlier_reaction=none scalp=sound "age=sixteen and over" wish=fading
  swatchword choose --client 41        the answers are kept in the records
  swatchword choose --facts
exit code: 0 recipes are proposed, 1 a stop, a question still open, or bad input
"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "choose",
        help="propose recipes with reasons",
        description=ABOUT,
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("facts", nargs="*", metavar="FACT=ANSWER", help="what is known")
    parser.add_argument("--facts", action="store_true", dest="list", help="list facts and answers")
    parser.add_argument("--first", type=int, default=0, metavar="N", help="only the first N")
    parser.add_argument("--rules", type=Path, default=choosing_file.SHIPPED, metavar="FILE")
    parser.add_argument("--recipes", type=Path, metavar="DIR", help="another folder of recipes")
    parser.add_argument("--client", metavar="NAME", help="write the answers into the records")
    parser.add_argument("--store", type=Path, metavar="FILE", help="another records.db")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Ask what is not known, then propose."""
    if chosen.list:
        for name, fact in FACTS.items():
            print(f"{name:<17} {_answers(name)}   {fact.question}")
        return 0
    recipes, _ = recipe_files.load_all(chosen.recipes)
    book = choosing_file.load_rules(chosen.rules, tuple(recipes))
    known = _given(chosen.facts)
    head = consultation_from(known)
    if not chosen.facts and sys.stdin.isatty():
        head = _ask(book)
    if chosen.client:
        _write_down(chosen, head)
    return _propose(book, head, chosen.first)


def _write_down(chosen: argparse.Namespace, head: Consultation) -> None:
    """What was asked before the service; the next service's sheet and the gate read it."""
    answered = {name: head.answer(name) for name in FACTS}
    facts = {name: answer for name, answer in answered.items() if answer is not None}
    with closing(salon_records.opened(chosen.store, new=True)) as store:
        store.add_consultation(chosen.client, facts)
    print(f"written down for client {chosen.client}: {len(facts)} answers")


def _given(facts: list[str]) -> dict[str, str]:
    known: dict[str, str] = {}
    for text in facts:
        name, mark, answer = text.partition("=")
        if not mark:
            raise ConfigError(f"{text!r} is no fact: write FACT=ANSWER, see choose --facts")
        if name in known:
            raise ConfigError(f"{name} is given twice: give it once")
        known[name] = answer
    return known


def _ask(book: RuleBook) -> Consultation:
    """One question after another; an empty answer leaves it open, a stop ends the asking."""
    known: dict[str, str] = {}
    for name, fact in FACTS.items():
        answer = input(f"{fact.question} [{_answers(name)}] ").strip()
        if answer:
            known[name] = answer
        if advise(book, consultation_from(known)).stops:
            break
    return consultation_from(known)


def _answers(name: str) -> str:
    fact = FACTS[name]
    if isinstance(fact, Words):
        return " / ".join(fact.answers)
    return f"{fact.least:g} to {fact.most:g}"


def _propose(book: RuleBook, head: Consultation, first: int) -> int:
    advice = advise(book, head)
    if advice.stops or advice.ask_first:
        for line in advice.sentences():
            print(line)
        return 1
    shown = advice.proposals[:first] if first > 0 else advice.proposals
    for number, proposal in enumerate(shown, 1):
        lines = proposal.sentences()
        print(f"{number}. {lines[0]}")
        for line in lines[1:]:
            print(f"   {line}")
    for line in advice.besides:
        print(line)
    if advice.not_asked:
        print(f"Not asked yet: {', '.join(fact_words(name) for name in advice.not_asked)}.")
    print("The stylist decides.")
    return 0

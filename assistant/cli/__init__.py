"""The commands and their exit codes: 0 fine, 1 a problem was found, 2 wrong usage.

Each command is a module here with `add(subparsers)`; only these modules print.
"""

from __future__ import annotations

import argparse
import logging
import sys
from collections.abc import Sequence
from importlib.metadata import PackageNotFoundError, version
from typing import NoReturn

from assistant.cli import (
    board,
    check,
    choose,
    debrief,
    hear,
    listen,
    plan,
    records,
    rehearse,
    soundcheck,
)
from assistant.edges.yaml_scalars import nearest
from assistant.errors import AssistantError

ABOUT = """\
Hands-free, offline help for a hair colour service: it listens for a few spoken commands, walks
the routine zone by zone, runs a clock for every zone of every head and says what is due before
it is late.

Try first:   swatchword rehearse          a recorded service, no microphone needed
"""
CAUTION = (
    "Times and ratios in recipes are examples. The leaflet of the product in hand, local codes "
    "and licensed practice come first."
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit code."""
    parser = _parser()
    words = sys.argv[1:] if arguments is None else arguments
    chosen, unknown = parser.parse_known_args(words)
    if unknown:
        _refuse(parser, words, unknown)
    if chosen.run is None:
        parser.print_help()
        return 2
    logging.basicConfig(level=logging.WARNING, format="%(levelname)s: %(message)s")
    try:
        code: int = chosen.run(chosen)
        return code
    except AssistantError as error:
        print(f"swatchword: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nswatchword: stopped; everything up to here is kept", file=sys.stderr)
        return 1
    except BrokenPipeError:
        sys.stderr.close()  # the reader has gone (`| head`): no complaint at exit
        return 1


def _refuse(
    parser: argparse.ArgumentParser, words: Sequence[str], unknown: Sequence[str]
) -> NoReturn:
    """Exit 2 with the usage of the command that was meant, and the option that looks like it."""
    known: list[str] = []
    for word in ("", *words):
        below = [a.choices for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
        if below and word in below[0]:
            parser = below[0][word]
        known += parser._option_string_actions
    near = [n for one in unknown if (n := nearest(one.partition("=")[0], known)) is not None]
    hint = f": did you mean {' '.join(near)}?" if near else ""
    parser.error(f"unrecognized arguments: {' '.join(unknown)}{hint}")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="swatchword",
        description=ABOUT,
        epilog=CAUTION,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=_version())
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    parser.set_defaults(run=None)
    every = (
        rehearse, listen, board, debrief, soundcheck, choose, plan, hear, records, check,
    )  # fmt: skip
    for command in every:
        command.add(commands)
    return parser


def _version() -> str:
    try:
        return f"swatchword {version('swatchword')}"
    except PackageNotFoundError:
        return "swatchword (not installed)"

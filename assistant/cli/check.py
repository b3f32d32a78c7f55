"""`swatchword check`: recipes and word lists, every problem with its line and its mend."""

from __future__ import annotations

import argparse
from pathlib import Path

from assistant.edges import checking
from assistant.edges.recogniser import Model, bundled_model

ABOUT = """\
Reads recipes and word lists and reports every problem at once: file, line, what is wrong and
how to mend it. Also every word that the speech model does not know.
"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "check",
        help="validate recipes and word lists",
        description=ABOUT,
        epilog="exit code: 0 nothing to mend, 1 problems found",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "paths", nargs="*", type=Path, help="recipes or folders (default: everything shipped)"
    )
    parser.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Check and report."""
    model = Model(chosen.model or bundled_model())
    problems = checking.check(chosen.paths, model.knows)
    for problem in problems:
        print(problem)
    print(f"{len(problems)} to mend" if problems else "nothing to mend")
    return 1 if problems else 0

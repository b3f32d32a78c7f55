"""`python -m tests.proof d2 d3 [--short]`: runs proofs, prints tables, exit code 1 on a failure."""

from __future__ import annotations

import argparse
import importlib
import sys
import time
from pathlib import Path

from tests.proof.outcome import Outcome, table

OTHERS = ["offline", "planted", "restart", "supply", "wheels"]


def names() -> list[str]:
    """Every proof there is; "all" runs the numbered ones."""
    return sorted((path.stem for path in Path(__file__).parent.glob("d[0-9]*.py")), key=_number)


def _number(name: str) -> int:
    return int(name[1:])


def main() -> int:
    """Run the proofs asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.proof")
    parser.add_argument("proofs", nargs="+", choices=[*names(), *OTHERS, "all"])
    parser.add_argument("--short", action="store_true", help="the length of the daily tests")
    asked = parser.parse_args()
    failed = False
    for name in names() if "all" in asked.proofs else asked.proofs:
        proof = importlib.import_module(f"tests.proof.{name}")
        began = time.monotonic()
        outcomes: list[Outcome] = proof.prove(asked.short)
        seconds = time.monotonic() - began
        first_line = (proof.__doc__ or name).splitlines()[0]
        sys.stdout.write(f"\n{first_line}  [{seconds:.1f} s]\n{table(outcomes)}\n")
        sys.stdout.flush()
        failed = failed or any(each.failures or not each.trials for each in outcomes)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())

"""`python -m tests.bench plan [--days 200] [--long 60]`: prints the tables of a benchmark."""

from __future__ import annotations

import argparse
import sys

from tests.bench import plan

BENCHES = {"plan": plan}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("bench", choices=sorted(BENCHES))
    parser.add_argument("--days", type=int, default=200, help="random days of each size")
    parser.add_argument("--long", type=float, default=60, help="seconds of the long solve")
    parser.add_argument("--long-days", type=int, default=10, help="days of each size solved long")
    asked = parser.parse_args()
    return BENCHES[asked.bench].run(asked.days, asked.long, asked.long_days)


if __name__ == "__main__":
    sys.exit(main())

"""The option `--client 2=ROBIN`: who sits, or will sit, in a chair."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from assistant.core.script import Seat
from assistant.errors import ConfigError


def add_option(parser: argparse.ArgumentParser) -> None:
    """Add it; it may be given for several chairs."""
    parser.add_argument(
        "--client",
        action="append",
        default=[],
        type=_seat,
        metavar="CHAIR=NAME",
        help="a pseudonym or number for a chair, e.g. 2=ROBIN: the gate reads the records, the "
        "record carries it; by voice: 'chair two is client four one'",
    )


def checked(seats: Sequence[Seat], chairs: int) -> tuple[Seat, ...]:
    """The same; `ConfigError` for a chair that is not there."""
    for seat in seats:
        if not 1 <= seat.chair <= chairs:
            raise ConfigError(
                f"--client {seat.chair}={seat.client}: there are chairs 1 to {chairs}"
            )
    return tuple(seats)


def _seat(text: str) -> Seat:
    chair, mark, name = text.partition("=")
    if not mark or not chair.strip().isdecimal() or not name.strip():
        raise argparse.ArgumentTypeError(f"{text!r}: write CHAIR=NAME, for example 2=ROBIN")
    return Seat(int(chair), name.strip())

"""The options `--link`: several devices, one board, by a broker that the salon has."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Iterator
from pathlib import Path

from assistant.core.board_stations import MOST_CHAIRS
from assistant.edges.board_feed import Feed
from assistant.edges.link import PASSWORD, Teller, Watcher, broker


def add_options(parser: argparse.ArgumentParser, *, tells: bool = False) -> None:
    """Where the broker is; `tells`: this device has chairs of its own."""
    parser.add_argument(
        "--link",
        metavar="URL",
        help="an MQTT broker between devices: mqtt://host or mqtts://user@host (TLS); password "
        f"in {PASSWORD}",
    )
    parser.add_argument(
        "--link-ca", type=Path, metavar="FILE", help="who signed the broker's certificate"
    )
    if tells:
        parser.add_argument(
            "--link-chair",
            type=int,
            choices=range(1, MOST_CHAIRS + 1),
            default=1,
            metavar="N",
            help="this device's chair one is the salon's chair N",
        )


@contextlib.contextmanager
def telling(chosen: argparse.Namespace, feed: Feed) -> Iterator[None]:
    """Tell the broker what this session's board shows."""
    teller = Teller(broker(chosen.link, chosen.link_ca), chosen.link_chair)
    feed.show_on(teller.show)
    print(f"link: telling {chosen.link} as chair {chosen.link_chair}")
    try:
        yield
    finally:
        teller.close()


@contextlib.contextmanager
def watching(chosen: argparse.Namespace) -> Iterator[Watcher]:
    """Hear what every device tells the broker."""
    watcher = Watcher(broker(chosen.link, chosen.link_ca))
    try:
        yield watcher
    finally:
        watcher.close()

"""`python -m tests.bench.board`: what so many open pages cost, and how late they get their news.

A real `swatchword board --rehearse` in a process of its own; the pages are connections of this
process that read whatever comes. Real time, one minute by default.
"""

from __future__ import annotations

import argparse
import os
import selectors
import socket
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from assistant.edges import board_reader

PORT = 18199
TICKS = os.sysconf("SC_CLK_TCK")


@dataclass
class Watched:
    """What the pages saw."""

    beats: int = 0
    spread: list[float] = field(default_factory=list)  # seconds from first page to last, per beat
    gaps: list[float] = field(default_factory=list)  # seconds between two beats of one page


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.board")
    parser.add_argument("--seconds", type=float, default=60)
    asked = parser.parse_args()
    words = ["board", "--rehearse", "two-clients", "--speed", "1", "--board-port", str(PORT)]
    command = [sys.executable, "-m", "assistant", *words]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as server:
        while not board_reader.is_there(PORT):
            time.sleep(0.1)
        print(
            "| pages | processor, % of one core | memory, MB | beats seen | between beats, s "
            "median (max) | first to last page, ms median (max) |"
        )
        print("|---|---|---|---|---|---|")
        for pages in (0, 1, 20, 200):
            print(row(server.pid, pages, asked.seconds))
        server.terminate()
    return 0


def row(server: int, pages: int, seconds: float) -> str:
    """One line of the table."""
    lines = [open_page() for _ in range(pages)]
    used, began = cpu(server), time.monotonic()
    seen = watch(lines, seconds)
    busy = 100 * (cpu(server) - used) / (time.monotonic() - began)
    memory = resident(server)
    for line in lines:
        line.close()
    gaps, spread = seen.gaps or [0.0], [1000 * s for s in seen.spread or [0.0]]
    return (
        f"| {pages} | {busy:.1f} | {memory:.0f} | {seen.beats} | "
        f"{statistics.median(gaps):.2f} ({max(gaps):.2f}) | "
        f"{statistics.median(spread):.0f} ({max(spread):.0f}) |"
    )


def open_page() -> socket.socket:
    """One page that is open."""
    line = socket.create_connection(("127.0.0.1", PORT), 10)
    line.sendall(f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{PORT}\r\n\r\n".encode())
    return line


def watch(lines: list[socket.socket], seconds: float) -> Watched:
    """Read everything for so long; a beat is a read that holds a frame."""
    seen, ready = Watched(), selectors.DefaultSelector()
    last: dict[object, float] = {}
    first_of: dict[bytes, float] = {}
    for line in lines:
        ready.register(line, selectors.EVENT_READ)
    until = time.monotonic() + seconds
    latest: dict[bytes, float] = {}
    while (now := time.monotonic()) < until:
        for key, _ in ready.select(min(0.5, until - now)) if lines else pause():
            text = key.fileobj.recv(65536)  # type: ignore[union-attr] # these are sockets
            found = text.find(b'"beat":')
            if found < 0:
                continue
            now, beat = time.monotonic(), text[found : found + 16].split(b",")[0]
            seen.beats += 1
            if key.fileobj in last:
                seen.gaps.append(now - last[key.fileobj])
            last[key.fileobj] = now
            first_of.setdefault(beat, now)
            latest[beat] = now
    seen.spread = [latest[beat] - first for beat, first in first_of.items()]
    return seen


def pause() -> list[tuple[selectors.SelectorKey, int]]:
    """Nobody to read from: only time passes."""
    time.sleep(0.5)
    return []


def cpu(process: int) -> float:
    """Seconds of processor time it has used."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def resident(process: int) -> float:
    """Megabytes in memory."""
    status = Path(f"/proc/{process}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


if __name__ == "__main__":
    sys.exit(main())

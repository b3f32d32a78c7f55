"""`listen --board` and `board --rehearse` as commands of their own, from start to Ctrl-C."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.edges import board_reader
from assistant.edges.recordings import recording_for
from tests.wake import WAKE


def free_port() -> int:
    """A port that nobody has just now."""
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        return int(line.getsockname()[1])


@contextmanager
def running(*words: str) -> Iterator[subprocess.Popen[str]]:
    """A command as a user starts it; killed at the end if it still runs."""
    command = [sys.executable, "-m", "assistant", *words]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    with process:
        try:
            yield process
        finally:
            process.kill()


def told(process: subprocess.Popen[str], start: str) -> str:
    """The first line that starts so."""
    assert process.stdout is not None
    lines = []
    for line in process.stdout:
        lines.append(line)
        if line.startswith(start):
            return line
    raise AssertionError("".join(lines))


def test_a_live_session_serves_its_board_until_ctrl_c(tmp_path: Path) -> None:
    port = free_port()
    said = str(recording_for(f"{WAKE} start root tap", "stylist", "clean", None))
    words = ["--play", said, "--out", str(tmp_path), "--board", "--board-port", str(port)]
    with running("listen", *words) as listen:
        assert told(listen, "board: ") == f"board: at http://127.0.0.1:{port}/\n"
        assert board_reader.is_there(port)
        seen = (news for news in board_reader.news(port) if news[0] is not None)
        frame, age = next(seen)
        assert age < 1.5
        assert frame is not None
        assert frame.said.startswith("Swatchword is listening.")
        listen.send_signal(signal.SIGINT)
        assert listen.wait(20) == 0
    assert not board_reader.is_there(port)


def test_a_rehearsal_on_a_board_ends_by_ctrl_c() -> None:
    port = free_port()
    words = ["--rehearse", "root-tap", "--speed", "1000", "--board-port", str(port)]
    with running("board", *words) as board:
        told(board, "board: at ")
        last = None
        for frame, _ in board_reader.news(port):
            last = frame or last
            if last is not None and last.over:
                break
        assert last is not None
        assert last.said.startswith("Chair one finished. The record is written.")
        told(board, "board: the rehearsal is over")
        board.send_signal(signal.SIGINT)
        assert board.wait(20) == 0

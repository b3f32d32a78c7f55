"""The board in plain characters, on a real terminal and off it."""

from __future__ import annotations

import os
import pty
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.cli import main
from assistant.core.board_frame import Frame
from assistant.core.events import DeviceLost
from assistant.core.snapshot import snapshot
from assistant.edges.terminal_board import Screen, bar, colours, drawn
from tests.core.recipes import TWO_ZONES
from tests.core.service import Service


@pytest.fixture
def service() -> Service:
    service = Service(TWO_ZONES)
    service.hear("chair two start test tap")
    service.gate("chair two")
    for line in ("root bowl is mixed", "starting nape", "nape is on"):
        service.hear(f"chair two {line}")
    return service.at("04:00")


def text(service: Service, age: float = 0.0, width: int = 80, speed: float = 1.0) -> str:
    frame = Frame(1, replace(snapshot(service.salon), at=service.now), "crown", "hello", speed)
    return "\n".join(line for _, line in drawn(frame, age, width))


def test_a_bar_has_its_marks_at_their_minutes() -> None:
    # 0 to 20 minutes over 20 cells, 8 more beyond the limit
    assert bar((0, 300, 600, 1200), 0, 30) == "[-----C----T---------L-------]"
    assert bar((0, 300, 600, 1200), 240, 30) == "[####-C----T---------L-------]"
    assert bar((0, 300, 600, 1200), 1320, 30) == "[#####C####T#########L#-----]".replace(
        "L#-----]", "L#------]"
    )
    assert bar((0, 300, 600, 1200), 9999, 30)[-2] == "-"  # a long overrun stays inside


def test_what_is_due_next_comes_first(service: Service) -> None:
    assert text(service).startswith("NEXT  chair 2 nape: strand check in 1:00")
    assert "CHAIR 2  test tap  -  to put on: crown" in text(service)
    assert text(service.at("05:30")).startswith("NOW   chair 2 nape: check a strand 0:30 ago")


def test_time_goes_on_between_two_frames(service: Service) -> None:
    assert "strand check in 0:57" in text(service, age=3.0)
    assert "strand check in 0:00" in text(service, age=3.0, speed=20.0)


def test_a_limit_is_written_not_only_coloured(service: Service) -> None:
    service.at("21:00")
    assert "LIMIT, rinse now 1:00 ago" in text(service)
    assert "!! LIMIT 1:00 ago" in text(service)


def test_old_news_says_so(service: Service) -> None:
    assert "STALE" not in text(service, age=4.0)
    assert text(service, age=65.0).startswith("STALE: no news for 1:05.")
    assert drawn(None, 0.0)[0][1].startswith("Waiting")


def test_a_lost_microphone_is_told(service: Service) -> None:
    assert "microphone and sound are there" in text(service)
    service.event(DeviceLost(service.now, "microphone"))
    assert "LOST: microphone" in text(service)


@pytest.mark.parametrize("width", [20, 40, 80, 200])
def test_no_line_is_wider_than_the_terminal(service: Service, width: int) -> None:
    assert max(map(len, text(service, width=width).split("\n"))) <= max(width, 40)


def test_no_color_is_honoured() -> None:
    # https://no-color.org: "when present and not an empty string"
    assert not colours({"NO_COLOR": "1", "TERM": "xterm"})
    assert colours({"NO_COLOR": "", "TERM": "xterm"})
    assert not colours({"TERM": "dumb"})


def test_a_look_is_one_write_that_clears_nothing_first() -> None:
    writes: list[str] = []
    with Screen(writes.append, colour=False) as screen:
        screen.show([("alarm", "one"), ("", "two"), ("", "three")], rows=2)
    assert len(writes) == 3
    assert writes[1] == "\x1b[Hone\x1b[K\r\n2 more lines below\x1b[K\x1b[J"
    assert writes[2].endswith("\x1b[?25h\x1b[?1049l")  # cursor and screen as they were


def test_without_a_session_one_line_says_what_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "--terminal", "--board-port", "1025"]) == 1
    said = capsys.readouterr().err
    assert "swatchword listen --board" in said
    assert len(said.splitlines()) == 1


def test_pairing_codes_are_not_drawn_over(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["board", "--rehearse", "--terminal", "--network"]) == 1
    assert "leave out" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["--speed", "0"], ["--speed", "x"], ["--board-port", "80"]])
def test_wrong_usage_is_exit_2(words: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["board", "--rehearse", *words])
    assert ended.value.code == 2


def test_ctrl_c_leaves_the_terminal_as_it_was(tmp_path: Path) -> None:
    """On a real terminal, while a rehearsal plays."""
    master, slave = pty.openpty()
    words = ["board", "--rehearse", "two-clients", "--speed", "1000", "--terminal"]
    board = subprocess.Popen(
        [sys.executable, "-m", "assistant", *words, "--board-port", "18137"],
        stdin=slave,
        stdout=slave,
        stderr=slave,
        env=os.environ | {"NO_COLOR": "1", "TERM": "xterm", "COLUMNS": "80", "LINES": "24"},
    )
    os.close(slave)
    shown = b""
    while b"CHAIR 1" not in shown:
        shown += os.read(master, 4096)
    board.send_signal(signal.SIGINT)
    try:
        while more := os.read(master, 4096):
            shown += more
    except OSError:  # Linux tells the end of a terminal as an error
        pass
    os.close(master)
    assert board.wait(10) == 0
    assert shown.startswith(b"\x1b[?1049h\x1b[?25l")
    assert shown.rstrip().endswith(b"\x1b[?25h\x1b[?1049l")
    assert b"Traceback" not in shown
    assert b"\x1b[1" not in shown  # NO_COLOR

"""`swatchword board`: the glanceable board of all heads, in a browser or in the terminal."""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import sys
import tempfile
import threading
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path

from assistant import app
from assistant.cli import link
from assistant.core.board_frame import Frame
from assistant.edges import board_reader, script_files, terminal_board
from assistant.edges.board import PORT, Board, Touch, serve
from assistant.edges.board_feed import Feed
from assistant.edges.board_reader import News
from assistant.edges.clock import boottime
from assistant.edges.paced_clock import PacedClock
from assistant.errors import ConfigError, DeviceError

ABOUT = """\
Shows every chair at a glance: the step, each zone's bar with its check, target and limit, what
is due next across all chairs, the last words heard and said, microphone and sound. A page for a
tablet on the wall; two large buttons, "heard" and "rinsing", do what the spoken words do, and
nothing needs to be touched. If the session hangs or ends, the board says that it is stale.

  swatchword listen --board       serves the board of a live session (on this machine only)
  swatchword board                opens that board in a browser; --terminal draws it here
  swatchword board --rehearse     plays a rehearsal on a board of its own, no microphone, no sound
"""
EPILOG = """\
examples:
  swatchword board --rehearse two-clients --speed 30
  swatchword board --rehearse --terminal
  swatchword listen --board --network
  swatchword board --link mqtt://broker    the chairs of every device (see listen --link)

With --network tablets in the salon's own network can see it. A page asks for a code; the code
appears in the terminal of the session. It is plain HTTP: whoever can listen in on that network
can read the board and could take over a paired page, so use a network of the salon that clients
are not in, and never open the port to the internet. The board shows chairs, zones and times,
never a name.
exit code: 0 ended by you, 1 no board is there (one line says what to do)
"""
REDRAW_SECONDS = 0.5
MOST_LOOKS = 20  # for a first frame, where one board is printed
FIRST = "two-clients"
CAUTION = "plain HTTP, for the salon's own network only; pages pair with a code that appears here"


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "board",
        help="every chair at a glance, in a browser or in the terminal",
        description=ABOUT,
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--rehearse",
        nargs="?",
        const=FIRST,
        metavar="NAME",
        help=f"play a rehearsal, its words as written (default {FIRST})",
    )
    parser.add_argument(
        "--speed", type=_speed, default=20.0, metavar="N", help="so many times real time (20)"
    )
    parser.add_argument("--terminal", action="store_true", help="draw it in this terminal")
    add_options(parser)
    link.add_options(parser)
    parser.set_defaults(run=run)


def add_options(parser: argparse.ArgumentParser) -> None:
    """How a board is served, here and beside `listen`."""
    parser.add_argument(
        "--board-port", type=_port, default=PORT, metavar="N", help=f"the board's port ({PORT})"
    )
    parser.add_argument(
        "--network",
        nargs="?",
        const="",
        metavar="ADDRESS",
        help="show the board to the salon's own network too (plain HTTP, paired pages only)",
    )


def run(chosen: argparse.Namespace) -> int:
    """Play a rehearsal on a board, or look at the board of the session that runs here."""
    if chosen.terminal and chosen.network is not None:
        raise ConfigError("--terminal would draw over the pairing codes: leave out it or --network")
    if chosen.rehearse is not None:
        return _rehearse(chosen)
    if chosen.link is not None:
        return _stations(chosen)
    if not board_reader.is_there(chosen.board_port):
        raise DeviceError(
            f"no board on port {chosen.board_port}: start one with 'swatchword listen --board', "
            "or see one with 'swatchword board --rehearse'"
        )
    if chosen.terminal:
        return _draw(lambda: board_reader.news(chosen.board_port))
    address = f"http://127.0.0.1:{chosen.board_port}/"
    print(f"the board is at {address}")
    if os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY") or sys.platform != "linux":
        webbrowser.open(address)  # elsewhere it would be a text browser, which shows nothing
    return 0


@contextlib.contextmanager
def beside(
    chosen: argparse.Namespace, feed: Feed, keep: Path | None = None, *, quiet: bool = False
) -> Iterator[Board]:
    """A board served beside a session; what it has to tell is printed here."""
    with _served(chosen, feed.touch, keep, quiet=quiet) as board:
        feed.show_on(board.publish)
        yield board


@contextlib.contextmanager
def _served(
    chosen: argparse.Namespace, touch: Touch | None, keep: Path | None = None, *, quiet: bool
) -> Iterator[Board]:
    board = serve(touch, _tell, port=chosen.board_port, network=chosen.network, keep=keep)
    if not quiet:
        _tell(f"at {board.addresses[0]}" + (f" ({CAUTION})" if board.pairing else ""))
    try:
        yield board
    finally:
        board.close()


def _tell(line: str) -> None:
    print(f"board: {line}", flush=True)


def _rehearse(chosen: argparse.Namespace) -> int:
    """The rehearsal in a thread, the board in front of it."""
    feed = Feed(chosen.speed)
    with tempfile.TemporaryDirectory() as folder:
        play = _player(chosen, feed, Path(folder))
        with beside(chosen, feed, quiet=chosen.terminal) as board, feed.beating():
            over = _in_thread(play, feed)
            if chosen.terminal:
                return _draw(lambda: _own_news(board), over)
            with contextlib.suppress(KeyboardInterrupt):
                over.wait()
                _tell("the rehearsal is over; the page stays until Ctrl-C")
                threading.Event().wait()
    return 0


def _stations(chosen: argparse.Namespace) -> int:
    """The board of every device that tells the broker; it only looks."""
    with link.watching(chosen) as watcher, _served(chosen, None, quiet=chosen.terminal) as board:
        stopped = threading.Event()
        job = threading.Thread(target=watcher.run, args=(board.publish, stopped), daemon=True)
        job.start()
        try:
            if chosen.terminal:
                return _draw(lambda: _own_news(board))
            with contextlib.suppress(KeyboardInterrupt):
                job.join()
        finally:
            stopped.set()
    return 0


def _player(chosen: argparse.Namespace, feed: Feed, folder: Path) -> Callable[[], object]:
    script = script_files.load(chosen.rehearse)
    book = app.read_book()
    rehearsal = app.rehearsal(
        script,
        book,
        app.typed_hearing(book),
        app.GuessedVoice().seconds_of,
        folder,
        clock=lambda: PacedClock(chosen.speed),
        built=lambda hub, clock: feed.attach(hub, clock.now),
    )
    return rehearsal.play


def _in_thread(play: Callable[[], object], feed: Feed) -> threading.Event:
    over = threading.Event()

    def job() -> None:
        try:
            play()
        finally:
            feed.end()
            over.set()

    threading.Thread(target=job, name="rehearsal", daemon=True).start()
    return over


def _own_news(board: Board) -> Iterator[News]:
    number = 0
    while not board.closed:
        number, text = board.after(number, REDRAW_SECONDS)
        if text:
            yield board_reader.of_text(text)


class _Newest:
    """The newest frame of a source, kept by a thread of its own; the source may come back."""

    def __init__(self, source: Callable[[], Iterator[News]], now: Callable[[], float]) -> None:
        self.frame: Frame | None = None
        self._made_at = now()
        self._source, self._now = source, now

    @property
    def age(self) -> float:
        """Seconds since the newest frame was made."""
        return self._now() - self._made_at

    def follow(self, stopped: threading.Event) -> None:
        """Until stopped, and again whenever the source ends."""
        while not stopped.wait(REDRAW_SECONDS):
            for frame, age in self._source():
                if frame is not None:
                    self.frame, self._made_at = frame, self._now() - age


def _draw(source: Callable[[], Iterator[News]], over: threading.Event | None = None) -> int:
    """Draw until Ctrl-C. Where the output is no terminal, one board as plain text."""
    newest, stopped = _Newest(source, boottime), threading.Event()
    threading.Thread(target=newest.follow, args=(stopped,), daemon=True).start()
    if not sys.stdout.isatty():
        return _print_once(newest, over)
    colour = terminal_board.colours()
    with (
        contextlib.suppress(KeyboardInterrupt),
        terminal_board.Screen(_put, colour=colour) as screen,
    ):
        while not stopped.wait(REDRAW_SECONDS):
            size = shutil.get_terminal_size()
            screen.show(terminal_board.drawn(newest.frame, newest.age, size.columns), size.lines)
    stopped.set()
    return 0


def _print_once(newest: _Newest, over: threading.Event | None) -> int:
    """The present board of a session, or the last one of a rehearsal (`over` tells its end)."""
    if over is not None:
        over.wait()
    for _ in range(MOST_LOOKS):
        if newest.frame is not None and (over is None or newest.frame.over):
            break
        threading.Event().wait(REDRAW_SECONDS)
    for _, line in terminal_board.drawn(newest.frame, newest.age):
        print(line)
    return 0


def _put(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


def _speed(text: str) -> float:
    speed = float(text)
    if not 0 < speed <= 1000:
        raise argparse.ArgumentTypeError("write a number from 1 (real time) to 1000")
    return speed


def _port(text: str) -> int:
    port = int(text)
    if not 1024 <= port <= 65535:
        raise argparse.ArgumentTypeError("write a port from 1024 to 65535")
    return port

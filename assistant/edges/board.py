"""The running board: the newest frame for every page, and presses for the hub.

It knows nothing of sound or speech. Whatever happens to a page or to the network, the hub only
ever hands over a frame and goes on.
"""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Callable
from pathlib import Path

from assistant.core.board_frame import Frame, encode
from assistant.edges.board_pairing import Pairing, Role
from assistant.edges.board_server import Bounds, Server
from assistant.edges.clock import boottime
from assistant.errors import DeviceError

LOOPBACK = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
PORT = 8137
ALIVE_SECONDS = 4.0  # a page that sees nothing for longer looks for the server again
Touch = Callable[[int, str], str]  # chair, button: what was said to it


class Board:
    """One board being served. Any thread may publish."""

    def __init__(
        self,
        touch: Touch | None,
        *,
        host: str = LOOPBACK,
        port: int = 0,
        names: tuple[str, ...] = (LOOPBACK, "localhost"),
        pairing: Pairing | None = None,
        bounds: Bounds | None = None,
        now: Callable[[], float] = boottime,
    ) -> None:
        """Listen at once. `names` are the only hosts it answers to; without `pairing` all press.

        Without `touch` nobody does: pages only look.
        """
        self.touch = touch
        self.pairing = pairing
        self.bounds = bounds or Bounds()
        self.closed = False
        self._now = now
        self._news = threading.Condition()
        self._number, self._frame, self._came = 0, "null", now()
        try:
            self._server = Server((host, port), self)
        except OSError as error:
            raise DeviceError(
                f"the board cannot listen on {host}:{port} ({error.strerror}): another board "
                "runs there; end it or take another --board-port"
            ) from error
        self.port: int = self._server.server_address[1]
        self.hosts = frozenset(f"{name}:{self.port}" for name in names)
        self.addresses = tuple(f"http://{name}:{self.port}/" for name in names)
        threading.Thread(
            target=self._server.serve_forever, args=(0.1,), name="board", daemon=True
        ).start()

    def publish(self, frame: Frame) -> None:
        """Show this from now on."""
        text = json.dumps(encode(frame), allow_nan=False, separators=(",", ":"))
        with self._news:
            self._number, self._frame, self._came = self._number + 1, text, self._now()
            self._news.notify_all()

    def after(self, number: int, seconds: float = ALIVE_SECONDS) -> tuple[int, str]:
        """The newest frame with its age once it is newer than `number`; empty if none comes.

        The age lets a page that comes while the hub hangs see at once how old the news is.
        """
        with self._news:
            self._news.wait_for(lambda: self._number > number or self.closed, seconds)
            if self._number <= number:
                return number, ""
            age = self._now() - self._came
            return self._number, f'{{"age":{age:.2f},"frame":{self._frame}}}'

    def role(self, token: str, peer: str, host: str) -> Role | None:
        """What a page may do. Whoever sits at this machine, and asks for it as such, may press."""
        here = peer == LOOPBACK and host.partition(":")[0] in (LOOPBACK, "localhost")
        role: Role | None = "operator" if self.pairing is None or here else self.pairing.role(token)
        return "viewer" if role and self.touch is None else role

    def close(self) -> None:
        """No page is served any more."""
        self.closed = True
        with self._news:
            self._news.notify_all()
        self._server.shutdown()
        self._server.server_close()


def serve(
    touch: Touch | None,
    tell: Callable[[str], None],
    *,
    port: int = PORT,
    network: str | None = None,
    keep: Path | None = None,
) -> Board:
    """A board on this machine, or with `network` (an address of it, empty: find it) beyond."""
    if network is None:
        return Board(touch, port=port)
    address = network or own_address()
    name = socket.gethostname().lower()
    names = (address, name, f"{name}.local", LOOPBACK, "localhost")
    return Board(touch, host=EVERYWHERE, port=port, names=names, pairing=Pairing(tell, keep))


def own_address() -> str:
    """This machine's address on its network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as line:
        try:
            line.connect(("192.0.2.1", 9))  # an address kept for examples: only a route is asked
            address: str = line.getsockname()[0]
        except OSError as error:
            raise DeviceError(
                "this machine is on no network: join one, or name its address: --network 10.0.0.5"
            ) from error
    return address

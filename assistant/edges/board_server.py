"""What does the board answer to a browser, and what does it refuse?

The standard library's threading server: nothing to install, one blocked thread for each open
page. Its known weak spots are shut here: no path of the disk is made from a request, the exact
Host and Origin are asked of everybody, sizes, times and the number of connections are bounded.
"""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Protocol

from assistant.edges.board_pairing import Pairing, Role
from assistant.edges.clock import boottime
from assistant.errors import DeviceError

FILES = {
    "/": ("board.html", "text/html; charset=utf-8"),
    "/board.css": ("board.css", "text/css; charset=utf-8"),
    "/board.js": ("board.js", "text/javascript; charset=utf-8"),
    "/bars.js": ("bars.js", "text/javascript; charset=utf-8"),
    "/icon.svg": ("icon.svg", "image/svg+xml"),
}
BUTTONS = ("heard", "rinsing")
COOKIE = "board"
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
}


@dataclass(frozen=True, slots=True)
class Bounds:
    """How much one browser, or all of them, may ask."""

    body_bytes: int = 1024
    connections: int = 300  # a busy salon has twenty
    ask_seconds: float = 8.0  # for a whole request, however slowly it drips


class Shown(Protocol):
    """What the server needs of a board (edges/board.py)."""

    hosts: frozenset[str]
    closed: bool
    pairing: Pairing | None
    bounds: Bounds
    touch: Callable[[int, str], str] | None

    def after(self, number: int) -> tuple[int, str]:
        """The next news as JSON, empty after a while without any."""

    def role(self, token: str, peer: str, host: str) -> Role | None:
        """What a page with this token may do."""


class Server(ThreadingHTTPServer):
    """Bounds how many connections are open and how long a request may take to arrive."""

    daemon_threads = True
    block_on_close = False
    request_queue_size = 256

    def __init__(
        self,
        address: tuple[str, int],
        board: Shown,
        now: Callable[[], float] = boottime,
    ) -> None:
        """Bound, not yet serving."""
        self.board = board
        self._now = now
        self._lock = threading.Lock()
        self._lines: dict[socket.socket, float] = {}  # until when its request must be there
        super().__init__(address, _Handler)

    def verify_request(self, request: Any, client_address: Any) -> bool:
        """Room for one more?"""
        with self._lock:
            if len(self._lines) >= self.board.bounds.connections:
                return False
            self._lines[request] = self._now() + self.board.bounds.ask_seconds
            return True

    def arrived(self, request: socket.socket) -> None:
        """The whole request is there: it may be answered as long as it takes."""
        with self._lock:
            self._lines[request] = float("inf")

    def service_actions(self) -> None:
        """Several times a second: cut off whoever is still asking."""
        with self._lock:
            late = [line for line, until in self._lines.items() if until < self._now()]
        for line in late:
            _cut(line)

    def shutdown_request(self, request: Any) -> None:
        """A connection is over."""
        with self._lock:
            self._lines.pop(request, None)
        super().shutdown_request(request)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A page that went away is no news."""


class _Handler(BaseHTTPRequestHandler):
    server: Server
    timeout = 10  # for one read or write: a page that takes nothing is let go
    server_version = "board"
    sys_version = ""

    def log_message(self, format: str, *args: object) -> None:
        """Nobody's address is kept."""

    def do_GET(self) -> None:
        """A file of the page, what this page may do, or the events. Nothing is changed."""
        self.server.arrived(self.connection)
        board = self.server.board
        if self.headers.get_all("Host", []) not in [[host] for host in board.hosts]:
            self._answer(HTTPStatus.MISDIRECTED_REQUEST)
        elif self.path in FILES:
            name, kind = FILES[self.path]
            self._answer(HTTPStatus.OK, (_folder() / name).read_bytes(), kind)
        elif self.path not in ("/events", "/role"):
            self._answer(HTTPStatus.NOT_FOUND)
        elif self.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
            self._answer(HTTPStatus.FORBIDDEN)
        elif (role := self._role()) is None:
            self._answer(HTTPStatus.UNAUTHORIZED)
        elif self.path == "/role":
            self._say({"role": role})
        else:
            self._events()

    def do_POST(self) -> None:
        """Ask for a code, pair, or press a button."""
        refusal = self._refusal()
        if refusal is not None:
            self._answer(refusal)
            return
        try:
            asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            self.server.arrived(self.connection)
            if self.path == "/touch":
                self._press(asked["chair"], asked["button"])
            elif self.path == "/pair":
                self._pair(str(asked["code"]))
            else:
                self._ask()
        except (ValueError, KeyError, TypeError, RecursionError):
            self._answer(HTTPStatus.BAD_REQUEST)

    def _refusal(self) -> HTTPStatus | None:
        host, length = self.headers.get("Host", ""), self.headers.get("Content-Length", "")
        if self.headers.get_all("Host", []) != [host] or host not in self.server.board.hosts:
            return HTTPStatus.MISDIRECTED_REQUEST
        if self.headers.get("Origin") != f"http://{host}":
            return HTTPStatus.FORBIDDEN
        if self.headers.get("Content-Type") != "application/json":
            return HTTPStatus.UNSUPPORTED_MEDIA_TYPE
        if not (length.isascii() and length.isdigit() and len(length) < 9):
            return HTTPStatus.LENGTH_REQUIRED
        if int(length) > self.server.board.bounds.body_bytes:
            return HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        if self.path == "/touch":
            return self._no_press()
        pairs = self.path in ("/pair", "/ask") and self.server.board.pairing is not None
        return None if pairs else HTTPStatus.NOT_FOUND

    def _no_press(self) -> HTTPStatus | None:
        role = self._role()
        if role is None:
            return HTTPStatus.UNAUTHORIZED
        return None if role == "operator" else HTTPStatus.FORBIDDEN

    def _ask(self) -> None:
        pairing = self.server.board.pairing
        shown = pairing is not None and pairing.ask()
        self._answer(HTTPStatus.NO_CONTENT if shown else HTTPStatus.TOO_MANY_REQUESTS)

    def _pair(self, code: str) -> None:
        pairing = self.server.board.pairing
        token = pairing.pair(code) if pairing else ""
        if not token:
            self._answer(HTTPStatus.FORBIDDEN)
            return
        cookie = f"{COOKIE}={token}; HttpOnly; SameSite=Strict; Path=/; Max-Age=64800"
        self._answer(HTTPStatus.NO_CONTENT, cookie=cookie)

    def _press(self, chair: object, button: object) -> None:
        """Hand it to the hub and answer with what was said to it."""
        least = 0 if button == "heard" else 1  # chair 0 is the room: a lost device
        if type(chair) is not int or not least <= chair <= 12 or button not in BUTTONS:
            raise ValueError("no such button")
        touch = self.server.board.touch
        try:
            if touch is None:
                raise DeviceError("nobody presses here")
            self._say({"said": touch(chair, str(button))})
        except DeviceError:
            self._answer(HTTPStatus.GATEWAY_TIMEOUT)

    def _role(self) -> Role | None:
        peer, host = str(self.client_address[0]), self.headers.get("Host", "")
        return self.server.board.role(self._token(), peer, host)

    def _token(self) -> str:
        try:
            found = SimpleCookie(self.headers.get("Cookie", "")).get(COOKIE)
        except CookieError:
            return ""
        return found.value if found else ""

    def _events(self) -> None:
        self._head(HTTPStatus.OK, "text/event-stream")
        self.wfile.write(b"retry: 1000\n\n")
        number, board = 0, self.server.board
        while not board.closed:
            number, news = board.after(number)
            text = f"data: {news}\n\n" if news else "event: alive\ndata: 1\n\n"
            self.wfile.write(text.encode())

    def _say(self, plain: dict[str, str]) -> None:
        self._answer(HTTPStatus.OK, json.dumps(plain).encode(), "application/json")

    def _head(self, status: HTTPStatus, kind: str, cookie: str = "") -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Connection", "close")
        for name, value in _HEADERS.items():
            self.send_header(name, value)
        if cookie:
            self.send_header("Set-Cookie", cookie)
        self.end_headers()

    def _answer(
        self, status: HTTPStatus, body: bytes = b"", kind: str = "text/plain", cookie: str = ""
    ) -> None:
        self._head(status, kind, cookie)
        self.wfile.write(body)


def _cut(line: socket.socket) -> None:
    try:
        line.shutdown(socket.SHUT_RDWR)
    except OSError:  # gone already
        return


def _folder() -> Path:
    return Path(__file__).parent / "board_files"

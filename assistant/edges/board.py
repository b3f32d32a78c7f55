"""Who may look at the salon from a browser, and who may press? A page fed by server-sent events.

The standard library's threading server: no dependency, one blocked thread for each open page.
Exact Host and Origin are asked of everybody, a paired token of everybody off this machine.
"""

from __future__ import annotations

import json
import secrets
import threading
from collections.abc import Callable
from dataclasses import asdict
from http import HTTPStatus
from http.cookies import CookieError, SimpleCookie
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, ClassVar

from assistant.core.snapshot import SalonView
from assistant.errors import DeviceError

FILES = {
    "/": ("board.html", "text/html; charset=utf-8"),
    "/board.css": ("board.css", "text/css; charset=utf-8"),
    "/board.js": ("board.js", "text/javascript; charset=utf-8"),
}
LOOPBACK = "127.0.0.1"
MOST_BYTES = 1024
MOST_TRIES = 10  # wrong pairing codes, then pairing is over until the next start
MOST_PAGES = 250
ALIVE_SECONDS = 4.0
COOKIE = "board"
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "no-store",
    "Referrer-Policy": "no-referrer",
}
Touch = Callable[[int, str], None]


class Board:
    """A running board. Any thread may publish; `touch` is called from the server's threads."""

    def __init__(
        self,
        touch: Touch | None = None,
        *,
        host: str = LOOPBACK,
        port: int = 0,
        operator: bool = True,
    ) -> None:
        """Listen at once. Off this machine pages pair with `code`; they press if `operator`."""
        self.code = f"{secrets.randbelow(10**8):08d}" if host != LOOPBACK else ""
        self.touch = touch if operator else None
        self._tries = 0
        self._tokens: set[str] = set()
        self._pages = threading.BoundedSemaphore(MOST_PAGES)
        self._news = threading.Condition()
        self._number, self._frame = 0, ""
        self.closed = False
        handler = type("Handler", (_Handler,), {"board": self})
        try:
            self._server = _Server((host, port), handler)
        except OSError as error:
            raise DeviceError(
                f"the board cannot listen on {host}:{port}: {error.strerror}"
            ) from error
        self.port: int = self._server.server_address[1]
        names = (host,) if self.code else (LOOPBACK, "localhost")
        self.hosts = frozenset(f"{name}:{self.port}" for name in names)
        self.address = f"http://{host}:{self.port}/"
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    def publish(self, view: SalonView, heard: str = "", said: str = "", speed: float = 1.0) -> None:
        """Show this from now on."""
        more = {"heard": heard, "said": said, "speed": speed, "operator": self.touch is not None}
        with self._news:
            self._number, self._frame = self._number + 1, json.dumps(asdict(view) | more)
            self._news.notify_all()

    def after(self, number: int) -> tuple[int, str]:
        """The newest frame once it is newer than `number`; empty when nothing came for a while."""
        with self._news:
            self._news.wait_for(lambda: self._number > number or self.closed, ALIVE_SECONDS)
            return self._number, self._frame if self._number > number else ""

    def close(self) -> None:
        """No page is served any more."""
        self.closed = True
        with self._news:
            self._news.notify_all()
        self._server.shutdown()
        self._server.server_close()

    def pair(self, code: str) -> str:
        """A token for the right code, else empty."""
        with self._news:
            if not self.code or self._tries >= MOST_TRIES:
                return ""
            if not secrets.compare_digest(code.encode(), self.code.encode()):
                self._tries += 1
                return ""
            token = secrets.token_urlsafe(32)
            self._tokens.add(token)
            return token

    def knows(self, token: str) -> bool:
        """Whether this token was given out; on this machine alone nobody needs one."""
        return not self.code or token in self._tokens

    def room(self) -> threading.BoundedSemaphore:
        """How many pages may still be opened."""
        return self._pages


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    request_queue_size = 256

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A page that went away is no news."""


class _Handler(BaseHTTPRequestHandler):
    board: ClassVar[Board]
    timeout = 10
    server_version = "board"
    sys_version = ""

    def log_message(self, format: str, *args: object) -> None:
        """Nobody's address is kept."""

    def do_GET(self) -> None:
        """A file of the page, or the events."""
        if self.headers.get_all("Host", []) not in [[host] for host in self.board.hosts]:
            self._answer(HTTPStatus.MISDIRECTED_REQUEST)
        elif self.path in FILES:
            name, kind = FILES[self.path]
            self._answer(HTTPStatus.OK, (_folder() / name).read_bytes(), kind)
        elif self.path != "/events":
            self._answer(HTTPStatus.NOT_FOUND)
        elif not self.board.knows(self._token()):
            self._answer(HTTPStatus.UNAUTHORIZED)
        elif not self.board.room().acquire(blocking=False):
            self._answer(HTTPStatus.SERVICE_UNAVAILABLE)
        else:
            try:
                self._events()
            finally:
                self.board.room().release()

    def do_POST(self) -> None:
        """Pair, or press a button."""
        refusal = self._refusal()
        if refusal is not None:
            self._answer(refusal)
            return
        try:
            asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            if self.path == "/pair":
                self._pair(str(asked["code"]))
            else:
                self._press(asked["chair"], asked["intent"])
        except (ValueError, KeyError, TypeError, RecursionError):
            self._answer(HTTPStatus.BAD_REQUEST)

    def _refusal(self) -> HTTPStatus | None:
        host = self.headers.get("Host", "")
        length = self.headers.get("Content-Length", "")
        if host not in self.board.hosts:
            return HTTPStatus.MISDIRECTED_REQUEST
        if self.headers.get("Origin") != f"http://{host}":
            return HTTPStatus.FORBIDDEN
        if self.headers.get("Content-Type") != "application/json":
            return HTTPStatus.UNSUPPORTED_MEDIA_TYPE
        if not (length.isascii() and length.isdigit() and len(length) < 9):
            return HTTPStatus.LENGTH_REQUIRED
        if int(length) > MOST_BYTES:
            return HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        if self.path not in ("/pair", "/touch"):
            return HTTPStatus.NOT_FOUND
        if self.path == "/touch" and not self.board.knows(self._token()):
            return HTTPStatus.UNAUTHORIZED
        if self.path == "/touch" and self.board.touch is None:
            return HTTPStatus.FORBIDDEN
        return None

    def _pair(self, code: str) -> None:
        token = self.board.pair(code)
        if not token:
            self._answer(HTTPStatus.FORBIDDEN)
            return
        cookie = f"{COOKIE}={token}; HttpOnly; SameSite=Strict; Path=/"
        self._answer(HTTPStatus.NO_CONTENT, cookie=cookie)

    def _press(self, chair: object, intent: object) -> None:
        touch = self.board.touch
        known = type(chair) is int and 1 <= chair <= 12 and intent in ("heard", "rinsing")
        if touch is None or not known:
            raise ValueError("no such button")
        touch(int(str(chair)), str(intent))
        self._answer(HTTPStatus.NO_CONTENT)

    def _token(self) -> str:
        try:
            found = SimpleCookie(self.headers.get("Cookie", "")).get(COOKIE)
        except CookieError:
            return ""
        return found.value if found else ""

    def _events(self) -> None:
        self._head(HTTPStatus.OK, "text/event-stream")
        number = 0
        while not self.board.closed:
            number, frame = self.board.after(number)
            text = f"data: {frame}\n\n" if frame else "event: alive\ndata: 1\n\n"
            self.wfile.write(text.encode())
            self.wfile.flush()

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


def _folder() -> Path:
    return Path(__file__).parent / "board_files"

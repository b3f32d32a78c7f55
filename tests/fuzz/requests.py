"""What a browser, or somebody who is none, may send to the board: raw bytes on its line."""

from __future__ import annotations

import json
import re
import socket
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache
from typing import Any

from assistant.edges.board_pairing import Pairing, Role
from assistant.edges.board_server import BUTTONS, Bounds, Server

HOST = "127.0.0.1:8137"
TOKEN = "a token"
_STATUS = re.compile(rb"HTTP/1\.[01] (\d{3}) ")
# what may be answered: the board's own refusals, and those of the standard library's parser
FINE = frozenset({200, 204, 400, 401, 403, 404, 411, 413, 414, 415, 421, 429, 431, 501, 505})


class _Board:
    """What the server asks of a board, and what was pressed on it."""

    hosts = frozenset({HOST})
    closed = True  # so that the events of a page end at once
    bounds = Bounds()

    def __init__(self) -> None:
        self.pressed: list[tuple[int, str]] = []
        self.pairing: Pairing | None = Pairing(lambda line: None)
        self.touch: Callable[[int, str], str] | None = self._press

    def _press(self, chair: int, button: str) -> str:
        self.pressed.append((chair, button))
        return "Chair one. Rinsing."

    def after(self, number: int) -> tuple[int, str]:
        return number, ""

    def role(self, token: str, peer: str, host: str) -> Role | None:
        return "operator" if token == TOKEN.replace(" ", "-") else None


class _Server(Server):
    """Never bound to a port: requests are handed to it."""

    def server_bind(self) -> None:
        self.server_name, self.server_port = "board", 0

    def server_activate(self) -> None:
        """Nothing to listen on."""


@cache
def _server() -> tuple[_Server, _Board]:
    board = _Board()
    server = _Server(("127.0.0.1", 0), board)
    server.socket.close()
    return server, board


def board(data: bytes) -> None:
    """One connection: answered with a status we know; a press only with everything right."""
    server, shown = _server()
    shown.pressed.clear()
    ours, theirs = socket.socketpair()
    with ours, theirs:
        for line in (ours, theirs):
            line.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 1 << 20)
        theirs.sendall(data[:65536])
        theirs.shutdown(socket.SHUT_WR)
        handler: Any = server.RequestHandlerClass
        handler(ours, ("192.0.2.7", 40000), server)
        ours.close()
        answer = _all(theirs)
    _judge(data, answer, shown)


def _all(line: socket.socket) -> bytes:
    parts = []
    with suppress(ConnectionResetError):  # the rest of a refused request was not read
        while part := line.recv(65536):
            parts.append(part)
    return b"".join(parts)


def _judge(data: bytes, answer: bytes, shown: _Board) -> None:
    status = _STATUS.match(answer)
    if answer.startswith(b"HTTP/") and (status is None or int(status[1]) not in FINE):
        raise AssertionError(f"answered {answer[:60]!r}")
    if not shown.pressed:
        return
    (chair, button) = shown.pressed[0]
    needed = (b"POST", HOST.encode(), b"http://" + HOST.encode(), b"a-token", b"application/json")
    if len(shown.pressed) > 1 or button not in BUTTONS or not 1 <= chair <= 12:
        raise AssertionError(f"pressed {shown.pressed}")
    if any(part not in data for part in needed):
        raise AssertionError(f"pressed without {[part for part in needed if part not in data]}")


def _request(first: str, *headers: str, body: str = "") -> bytes:
    lines = [first, *headers, f"Content-Length: {len(body)}", "", body]
    return "\r\n".join(lines).encode()


def seeds() -> Iterator[bytes]:
    """The page's own requests and the usual wrong ones."""
    host, origin = f"Host: {HOST}", f"Origin: http://{HOST}"
    cookie, plain = "Cookie: board=a-token", "Content-Type: application/json"
    press = json.dumps({"chair": 2, "button": "heard"})
    for path in ("/", "/board.js", "/events", "/role", "/../../etc/passwd", "/%2e%2e/board.py"):
        yield _request(f"GET {path} HTTP/1.1", host, cookie)
    yield _request("POST /touch HTTP/1.1", host, origin, cookie, plain, body=press)
    yield _request("POST /touch HTTP/1.1", host, cookie, plain, body=press)
    yield _request("POST /ask HTTP/1.1", host, origin, plain, body="{}")
    code = json.dumps({"code": "123 456"})
    yield _request("POST /pair HTTP/1.1", host, origin, plain, body=code)
    yield _request("POST /touch HTTP/1.1", "Host: evil.test", origin, cookie, plain, body=press)

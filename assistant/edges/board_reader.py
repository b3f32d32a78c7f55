"""Reads the board that a running session serves on this machine: frames with their age."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator

from assistant.core.board_frame import Frame, decode
from assistant.edges.board import LOOPBACK

PATIENCE = 12.0  # the server sends something every four seconds
News = tuple[Frame | None, float]  # a frame, None: only a sign of life; its age when it was sent


def is_there(port: int) -> bool:
    """Whether a board answers on this machine."""
    line = http.client.HTTPConnection(LOOPBACK, port, timeout=PATIENCE)
    try:
        line.request("GET", "/role")
        return line.getresponse().status == http.client.OK
    except (OSError, http.client.HTTPException):
        return False
    finally:
        line.close()


def news(port: int) -> Iterator[News]:
    """Everything the board sends until it goes away."""
    line = http.client.HTTPConnection(LOOPBACK, port, timeout=PATIENCE)
    try:
        line.request("GET", "/events")
        answer = line.getresponse()
        if answer.status != http.client.OK:
            return
        while text := answer.readline():
            if text.startswith(b"data: {"):
                yield of_text(text[6:].decode())
            elif text.startswith(b"data:"):
                yield None, 0.0
    except (OSError, http.client.HTTPException):
        return
    finally:
        line.close()


def of_text(text: str) -> News:
    """One piece of news; `ValueError` if it is no frame."""
    plain = json.loads(text)
    frame = plain["frame"]
    return (None if frame is None else decode(frame)), float(plain["age"])

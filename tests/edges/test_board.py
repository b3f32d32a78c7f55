"""The board: what it shows, and every request it refuses."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator
from dataclasses import replace

import pytest

from assistant.core.snapshot import SalonView, snapshot
from assistant.edges.board import Board
from tests.core.recipes import recipe, stage, zone
from tests.core.service import Service

VIEW: SalonView = snapshot(Service(recipe(stage(zone("crown")))).salon)
PRESS = json.dumps({"chair": 2, "intent": "heard"})


class Pressed(list[tuple[int, str]]):
    def __call__(self, chair: int, intent: str) -> None:
        self.append((chair, intent))


@pytest.fixture
def pressed() -> Pressed:
    return Pressed()


@pytest.fixture
def board(pressed: Pressed) -> Iterator[Board]:
    board = Board(pressed)
    yield board
    board.close()


def ask(board: Board, method: str, path: str, body: str = "", **headers: str) -> int:
    line = http.client.HTTPConnection("127.0.0.1", board.port, timeout=5)
    host = f"127.0.0.1:{board.port}"
    usual = {"Host": host, "Origin": f"http://{host}", "Content-Type": "application/json"}
    sent = usual | {name.replace("_", "-"): value for name, value in headers.items()}
    line.request(method, path, body or None, sent)
    status = line.getresponse().status
    line.close()
    return status


def test_a_press_arrives(board: Board, pressed: Pressed) -> None:
    assert ask(board, "POST", "/touch", PRESS) == 204
    assert pressed == [(2, "heard")]


@pytest.mark.parametrize(
    ("method", "path", "body", "headers", "status"),
    [
        ("GET", "/", "", {"Host": "salon.example"}, 421),  # rebinding: a foreign name
        ("GET", "/events", "", {"Host": "127.0.0.1"}, 421),
        ("POST", "/touch", PRESS, {"Host": "salon.example"}, 421),
        ("POST", "/touch", PRESS, {"Origin": "http://salon.example"}, 403),
        ("POST", "/touch", PRESS, {"Origin": "null"}, 403),
        ("POST", "/touch", PRESS, {"Content_Type": "text/plain"}, 415),
        ("POST", "/touch", "x" * 2000, {}, 413),
        ("POST", "/touch", "[" * 900, {}, 400),
        ("POST", "/touch", '{"chair": true, "intent": "heard"}', {}, 400),
        ("POST", "/touch", '{"chair": 1, "intent": "stop clock"}', {}, 400),
        ("GET", "/touch", "", {}, 404),  # a mutation by GET
        ("GET", "/../board.py", "", {}, 404),
        ("PUT", "/touch", PRESS, {}, 501),
    ],
)
def test_refused(
    board: Board,
    pressed: Pressed,
    method: str,
    path: str,
    body: str,
    headers: dict[str, str],
    status: int,
) -> None:
    assert ask(board, method, path, body, **headers) == status
    assert pressed == []


def test_off_this_machine_a_token_is_needed(board: Board, pressed: Pressed) -> None:
    board.code = "12345678"
    assert ask(board, "POST", "/touch", PRESS) == 401
    assert ask(board, "GET", "/events") == 401
    assert ask(board, "POST", "/pair", '{"code": "87654321"}') == 403
    token = board.pair("12345678")
    assert len(token) >= 43  # 32 random bytes
    assert ask(board, "POST", "/touch", PRESS, Cookie=f"board={token}") == 204
    for _ in range(10):
        board.pair("0")
    assert board.pair("12345678") == ""


def test_two_hundred_pages_see_the_same(board: Board) -> None:
    board.publish(replace(VIEW, at=61.0), heard="crown is on")
    lines = [http.client.HTTPConnection("127.0.0.1", board.port, timeout=20) for _ in range(200)]
    for line in lines:
        line.request("GET", "/events")
    answers = [line.getresponse() for line in lines]
    frames = [json.loads(answer.readline()[6:]) for answer in answers]
    assert {(frame["at"], frame["heard"]) for frame in frames} == {(61.0, "crown is on")}
    for line, answer in zip(lines, answers, strict=True):
        answer.close()
        line.close()

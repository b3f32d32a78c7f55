"""The board's server: what it shows, that news comes from the hub, and all that it refuses."""

from __future__ import annotations

import http.client
import json
import socket
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from assistant.core.board_frame import Frame, decode, encode
from assistant.core.phrases import Phrases
from assistant.core.snapshot import snapshot
from assistant.edges import board_server
from assistant.edges.board import EVERYWHERE, Board
from assistant.edges.board_pairing import BETWEEN_CODES, CODE_SECONDS, MOST_IN_ALL, Pairing
from assistant.edges.board_server import Bounds
from assistant.edges.word_files import load_phrases
from assistant.errors import DeviceError
from tests.edges.boards import Session, ask, frames, next_news
from tests.wake import WAKE

PRESS = json.dumps({"chair": 2, "button": "heard"})
OTHER = "127.0.0.2"  # to the server, a machine that is not its own


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    session = Session(tmp_path)
    yield session
    session.close()


@pytest.fixture
def board(session: Session) -> Iterator[Board]:
    board = Board(session.feed.touch)
    session.feed.show_on(board.publish)
    yield board
    board.close()


@pytest.fixture(scope="module")
def called(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Session, Board]]:
    """A session that calls out for chair two; "heard" would silence it."""
    session = Session(tmp_path_factory.mktemp("session"))
    board = Board(session.feed.touch)
    session.head()
    session.to("12:10")
    yield session, board
    session.close()
    board.close()


class Salon:
    """A board on the network with the salon's own screen, and time that the test moves."""

    def __init__(self, session: Session, keep: Path | None = None) -> None:
        self.now = 1000.0
        self.lines: list[str] = []
        self.pairing = Pairing(self.lines.append, keep, lambda: self.now)
        self.board = Board(
            session.feed.touch, host=EVERYWHERE, names=(OTHER,), pairing=self.pairing
        )

    def codes(self) -> tuple[str, str]:
        """To press, to look: as the screen shows them last."""
        digits = "".join(c for c in self.lines[-1].split("within")[0] if c.isdigit())
        return digits[:6], digits[6:]

    def cookie(self, code: str) -> str:
        """The cookie a page gets for this code."""
        body = json.dumps({"code": code})
        status, headers, _ = ask(self.board, "POST", "/pair", body, OTHER)
        assert status == 204
        return headers["Set-Cookie"]


@pytest.fixture
def salon(session: Session) -> Iterator[Salon]:
    salon = Salon(session)
    yield salon
    salon.board.close()


# ------------------------------------------------------------------ news


def test_a_frame_is_what_the_hub_sees(session: Session, board: Board) -> None:
    session.head()
    session.to("05:00")
    with frames(board) as stream:
        while decode(next_news(stream)["frame"]).view.at < 300:
            pass
        session.lose()
        while not (seen := decode(next_news(stream)["frame"])).view.lost:
            pass
    wanted = snapshot(session.hub.salon)
    assert seen.view.heads == wanted.heads
    assert seen.view.due == wanted.due
    assert seen.heard == f"{WAKE} chair two nape is on"
    assert seen.said == "Microphone lost. Clocks go on."


def test_frames_survive_json(session: Session) -> None:
    session.head()
    session.to("13:10")
    frame = Frame(7, snapshot(session.hub.salon), "a", "b", 20.0)
    assert frame.view.due[0].up
    assert decode(json.loads(json.dumps(encode(frame)))) == frame


def test_a_hub_that_hangs_makes_no_news_though_the_server_lives(
    session: Session, board: Board
) -> None:
    with frames(board) as stream:
        first, second = next_news(stream), next_news(stream)
        assert second["frame"]["beat"] > first["frame"]["beat"]
        release = session.hang()
        last, _ = board.after(0)
        assert board.after(last, 2.5) == (last, "")  # two beats are due in that time
        with frames(board) as later:  # a page that comes now
            late = next_news(later)
        assert late["age"] >= 2.5
        assert ask(board, "GET", "/role")[0] == 200
        release.set()
        while next_news(stream)["frame"]["beat"] <= late["frame"]["beat"]:
            pass


def test_the_last_frame_says_that_the_session_is_over(session: Session, board: Board) -> None:
    with frames(board) as stream:
        next_news(stream)
        session.close()
        while not (news := next_news(stream))["frame"]["over"]:
            pass
    assert news["frame"]["beat"] > 1
    with pytest.raises(DeviceError):
        session.feed.touch(2, "heard")


def test_a_sentence_that_cannot_be_made_stops_neither_board_nor_hub(tmp_path: Path) -> None:
    good = load_phrases()
    some = {name: text for name, text in good.phrases.items() if name != "zone_on"}
    session = Session(tmp_path, phrases=Phrases(good.version, some))
    board = Board(session.feed.touch)
    session.feed.show_on(board.publish)
    session.head()
    with frames(board) as stream:
        while decode(next_news(stream)["frame"]).heard != f"{WAKE} chair two nape is on":
            pass
        session.to("05:01")
        while "Check a strand" not in next_news(stream)["frame"]["said"]:
            pass
    assert session.hub.failures == 1  # the hub's own: it could not say it
    session.close()
    board.close()


def test_who_a_client_is_stays_off_the_wall(session: Session, board: Board) -> None:
    session.head()
    session.hear("chair two is client four seven one")
    with frames(board) as stream:
        while (seen := next_news(stream)["frame"])["heard"] != f"{WAKE} chair two is client ...":
            pass
    assert "four" not in seen["said"].lower()
    assert "471" not in json.dumps(seen)


# --------------------------------------------------------------- presses


def test_heard_acknowledges_a_call_as_the_spoken_word_does(session: Session, board: Board) -> None:
    session.head()
    session.to("10:01")  # the target of the nape: called again after 30 s
    assert session.hub.salon.calls.next_moment(session.clock.now()) == pytest.approx(630, abs=0.1)
    assert ask(board, "POST", "/touch", PRESS)[2] == {"said": "Noted."}
    assert session.hub.salon.calls.next_moment(session.clock.now()) == pytest.approx(661, abs=0.1)


def test_a_lost_microphone_is_acknowledged_by_touch_and_nothing_else_with_it(
    session: Session, board: Board
) -> None:
    session.head()
    session.to("10:01")
    session.lose()
    calls, now = session.hub.salon.calls, session.clock.now
    assert calls.next_moment(now()) == pytest.approx(630, abs=0.1)  # the nape, as before
    assert ask(board, "POST", "/touch", '{"chair": 0, "button": "heard"}')[2] == {"said": "Noted."}
    assert calls.next_moment(now()) == pytest.approx(630, abs=0.1)
    session.to("10:40")
    session.to("12:40")
    assert session.hub.salon.lost
    assert [call.kind for call in calls.up() if call.chair is None] == ["microphone"]


def test_rinsing_is_noted_for_that_chair(session: Session, board: Board) -> None:
    session.head()
    session.to("13:10")
    press = json.dumps({"chair": 2, "button": "rinsing"})
    said = ask(board, "POST", "/touch", press)[2]["said"]
    assert said.startswith("Nape: rinse noted.")
    assert session.hub.salon.heads[2].file.zones[0].rinsing_at == pytest.approx(790, abs=0.1)


def test_a_press_on_an_empty_chair_says_so(board: Board) -> None:
    press = json.dumps({"chair": 3, "button": "rinsing"})
    assert ask(board, "POST", "/touch", press)[2] == {"said": "Chair three has no client."}


def test_a_press_that_nobody_takes_is_refused_and_never_done_later(
    session: Session, board: Board
) -> None:
    session.head()
    session.to("13:10")
    release = session.hang()
    press = json.dumps({"chair": 2, "button": "rinsing"})
    assert ask(board, "POST", "/touch", press)[0] == 504
    release.set()
    session.do(lambda: None)  # everything that waited is done
    assert session.hub.salon.heads[2].file.zones[0].rinsing_at is None


# -------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("method", "path", "body", "headers", "status"),
    [
        ("GET", "/", "", {"Host": "salon.example"}, 421),  # rebinding: a foreign name
        ("GET", "/events", "", {"Host": "127.0.0.1"}, 421),  # no port
        ("GET", "/events", "", {"Sec_Fetch_Site": "cross-site"}, 403),
        ("POST", "/touch", PRESS, {"Host": "salon.example"}, 421),
        ("POST", "/touch", PRESS, {"Origin": "http://salon.example"}, 403),
        ("POST", "/touch", PRESS, {"Origin": "null"}, 403),
        ("POST", "/touch", PRESS, {"Content_Type": "text/plain"}, 415),  # a form of another site
        ("POST", "/touch", "x" * 2000, {}, 413),
        ("POST", "/touch", PRESS, {"Content_Length": "-1"}, 411),
        ("POST", "/touch", "[" * 900, {}, 400),
        ("POST", "/touch", '{"chair": true, "button": "heard"}', {}, 400),
        ("POST", "/touch", '{"chair": 13, "button": "heard"}', {}, 400),
        ("POST", "/touch", '{"chair": 0, "button": "rinsing"}', {}, 400),
        ("POST", "/touch", '{"chair": 1, "button": "stop clock"}', {}, 400),
        ("GET", "/touch", "", {}, 404),  # a change by GET
        ("GET", "/pair", "", {}, 404),
        ("POST", "/pair", '{"code": "1"}', {}, 404),  # nothing to pair on this machine alone
        ("GET", "/../board.py", "", {}, 404),
        ("GET", "/board_files/board.css", "", {}, 404),
        ("GET", "/?x=1", "", {}, 404),
        ("PUT", "/touch", PRESS, {}, 501),
    ],
)
def test_refused(
    called: tuple[Session, Board],
    method: str,
    path: str,
    body: str,
    headers: dict[str, str],
    status: int,
) -> None:
    session, board = called
    before = session.hub.salon.calls.next_moment(session.clock.now())
    assert before is not None
    assert ask(board, method, path, body, **headers)[0] == status
    assert session.hub.salon.calls.next_moment(session.clock.now()) == before


def test_a_second_host_line_is_refused(board: Board) -> None:
    host = f"Host: 127.0.0.1:{board.port}\r\n"
    with socket.create_connection(("127.0.0.1", board.port), 5) as line:
        line.sendall(f"GET / HTTP/1.1\r\n{host}{host}\r\n".encode())
        assert b" 421 " in line.recv(100)


def test_every_page_forbids_foreign_and_inline_script(board: Board) -> None:
    for path in board_server.FILES:
        status, headers, _ = ask(board, "GET", path)
        assert status == 200
        policy = headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self';" in policy
        assert "unsafe" not in policy
        assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("body", [False, True])
def test_who_drips_a_request_is_cut_off_and_a_page_stays(session: Session, body: bool) -> None:
    board = Board(session.feed.touch, bounds=Bounds(ask_seconds=0.3))
    session.feed.show_on(board.publish)
    host = f"127.0.0.1:{board.port}"
    head = f"POST /touch HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n"
    rest = "Content-Type: application/json\r\nContent-Length: 40\r\n\r\n{" if body else "X-"
    slow = socket.create_connection(("127.0.0.1", board.port), 5)
    with frames(board) as stream, slow:
        slow.sendall((head + rest).encode())
        assert slow.recv(10) == b""  # by the server, long before one reading would give up
        assert next_news(stream)["frame"]["beat"] < next_news(stream)["frame"]["beat"]
    board.close()


def test_there_is_room_for_so_many_connections_and_no_more(session: Session) -> None:
    board = Board(session.feed.touch, bounds=Bounds(connections=3))
    session.feed.show_on(board.publish)
    with ExitStack() as pages:
        for _ in range(3):
            next_news(pages.enter_context(frames(board)))
        with pytest.raises((http.client.RemoteDisconnected, ConnectionResetError)):
            ask(board, "GET", "/")
    board.close()


def test_a_board_of_other_devices_only_looks() -> None:
    board = Board(None)
    assert ask(board, "GET", "/role")[2] == {"role": "viewer"}
    assert ask(board, "POST", "/touch", PRESS)[0] == 403
    board.close()


# ------------------------------------------------------------- the network


def test_off_this_machine_nothing_is_told_without_a_token(salon: Salon) -> None:
    board = salon.board
    assert ask(board, "GET", "/events", address=OTHER)[0] == 401
    assert ask(board, "POST", "/touch", PRESS, OTHER)[0] == 401
    assert ask(board, "GET", "/role", address=OTHER, Cookie="board=guess")[0] == 401
    assert ask(board, "GET", "/", address=OTHER, Host="salon.example")[0] == 421


def test_a_way_in_through_this_machine_is_no_page_of_this_machine(salon: Salon) -> None:
    # a tunnel or a proxy here hands on what others ask: its own address, their host
    assert salon.board.role("", "127.0.0.1", f"{OTHER}:{salon.board.port}") is None
    assert salon.board.role("", OTHER, f"127.0.0.1:{salon.board.port}") is None
    assert salon.board.role("", "127.0.0.1", f"localhost:{salon.board.port}") == "operator"


def test_a_code_pairs_one_page_to_press(salon: Salon, session: Session) -> None:
    session.head()
    assert ask(salon.board, "POST", "/ask", "{}", OTHER)[0] == 204
    operator, _ = salon.codes()
    given = salon.cookie(operator)
    assert "; HttpOnly; SameSite=Strict" in given
    token = given.split(";")[0]
    assert len(token) >= len("board=") + 43  # 32 random bytes
    assert ask(salon.board, "GET", "/role", address=OTHER, Cookie=token)[2] == {"role": "operator"}
    assert ask(salon.board, "POST", "/touch", PRESS, OTHER, Cookie=token)[0] == 200
    again = json.dumps({"code": operator})
    assert ask(salon.board, "POST", "/pair", again, OTHER)[0] == 403


def test_the_other_code_pairs_a_page_that_only_looks(salon: Salon) -> None:
    ask(salon.board, "POST", "/ask", "{}", OTHER)
    token = salon.cookie(salon.codes()[1]).split(";")[0]
    assert ask(salon.board, "GET", "/events", address=OTHER, Cookie=token)[0] == 200
    assert ask(salon.board, "POST", "/touch", PRESS, OTHER, Cookie=token)[0] == 403


def test_an_old_code_pairs_nobody(salon: Salon) -> None:
    salon.pairing.ask()
    code = salon.codes()[0]
    salon.now += CODE_SECONDS
    assert salon.pairing.pair(code) == ""


def test_asking_again_and_again_shows_one_line(salon: Salon) -> None:
    for _ in range(5):
        assert salon.pairing.ask()
    assert len(salon.lines) == 1
    assert salon.pairing.pair(salon.codes()[0])
    salon.pairing.ask()
    assert len(salon.lines) == 1
    salon.now += BETWEEN_CODES
    salon.pairing.ask()
    assert len(salon.lines) == 2


def test_guessing_ends_the_pairing(salon: Salon) -> None:
    tries = 0
    while salon.pairing.ask():
        code = salon.codes()[0]
        for _ in range(5):
            assert salon.pairing.pair("no code") == ""
            tries += 1
        assert salon.pairing.pair(code) == ""  # five wrong ones spoil the right one
        salon.now += CODE_SECONDS
    assert tries == MOST_IN_ALL
    assert ask(salon.board, "POST", "/ask", "{}", OTHER)[0] == 429


def test_a_page_stays_paired_when_the_session_comes_back(session: Session, tmp_path: Path) -> None:
    keep = tmp_path / "pages.json"
    first = Salon(session, keep)
    first.pairing.ask()
    token = first.pairing.pair(first.codes()[1])
    first.board.close()
    assert token not in keep.read_text()
    later = Salon(session, keep)
    assert later.board.role(token, OTHER, OTHER) == "viewer"
    later.board.close()
    keep.write_text('{"x": "owner"}')
    assert Pairing(first.lines.append, keep).role(token) is None


# ---------------------------------------------------------------- the load


def test_two_hundred_pages_see_the_same_and_nobody_waits_for_one_that_takes_nothing(
    session: Session, board: Board
) -> None:
    session.head()
    session.to("05:00")
    sleeper = socket.create_connection(("127.0.0.1", board.port), 5)
    seen = set()
    with sleeper, ExitStack() as pages:
        sleeper.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
        sleeper.sendall(f"GET /events HTTP/1.1\r\nHost: 127.0.0.1:{board.port}\r\n\r\n".encode())
        streams = [pages.enter_context(frames(board)) for _ in range(200)]
        for stream in streams:
            while (news := next_news(stream)["frame"])["view"]["at"] < 300:
                pass
            seen.add(json.dumps(news["view"]["heads"]))
        session.do(lambda: None)
    assert len(seen) == 1

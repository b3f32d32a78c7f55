"""`swatchword listen`: live at the chair."""

from __future__ import annotations

import argparse
import contextlib
import threading
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path

from assistant import app
from assistant.cli import board, clients, link, salon_records
from assistant.cli.help_text import WakeWordHelp
from assistant.cli.screen import Screen
from assistant.core.events import Effect, Event
from assistant.core.script import Seat
from assistant.edges import keys, session_folder, settings_file, wav_files
from assistant.edges.board_feed import Feed
from assistant.edges.board_pairing import KEEP_NAME
from assistant.edges.clock import SystemClock
from assistant.edges.played_room import BLOCK_SECONDS, PlayedRoom
from assistant.edges.renderer import Renderer
from assistant.edges.session_folder import Unfinished
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import Card, SoundCard
from assistant.edges.wav_files import Sound
from assistant.errors import ConfigError
from assistant.live import Live

ABOUT = """\
Listens by the microphone, speaks by the loudspeaker, and runs every clock, with no network. No
sound is kept: the session's journal holds commands and times only.

The first five minutes:
  1. swatchword soundcheck             is everything there, is the room quiet enough?
  2. swatchword listen                 it greets you; from now on it listens
  3. "{wake}, start root tap"      the wake word, then a command; it waits if you stop to think
  4. answer its questions              without the wake word, within eight seconds:
     "clear test three days ago" ... "scalp is healthy" ... "gloves are on" ...
     "leaflet in hand" ... "sixteen or over"
  5. "{wake}, root bowl is mixed"  it says what goes where
  6. "{wake}, starting nape"       it is quiet while you work
     "{wake}, nape is on"          the clock of the nape runs
  7. "{wake}, how long"            any time; "{wake}, what can I say" helps
     "{wake}, undo that"           takes the last thing back, within a minute
  8. when it calls "Check a strand": "it is ready", "not ready" or "give it five"
  9. "{wake}, rinsing now", "{wake}, all rinsed"; Ctrl-C ends the session
Enter, space or a pedal that types one of them stands for the wake word. With two clients name
the chair first: "{wake}, chair two, crown is on".
"""
EPILOG = """\
Everything is kept: after a crash or a power cut 'swatchword listen --resume' goes on with every
clock right. Settings (chairs, wake word, devices, headset, voice): see --settings-example.
A microphone or loudspeaker that is missing is told and looked for every few seconds; clocks,
calls, keys and the board go on without it.
exit code: 0 ended by you, 1 it could not begin (one line says what to do)
"""
AFTER_PLAY = 8.0  # seconds that a session on recordings goes on after the last
LET_GO = 1.0  # seconds that a thread has to end
FIRST = 6.0  # seconds before the first: it says that it listens
PAUSE = 2.0  # seconds of stillness before the next: nobody is cut short


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "listen",
        help="live at the chair: microphone in, loudspeaker out",
        description=ABOUT,
        epilog=EPILOG,
        formatter_class=WakeWordHelp,
    )
    again = parser.add_mutually_exclusive_group()
    again.add_argument("--resume", action="store_true", help="go on with today's session")
    again.add_argument("--new", action="store_true", help="start anew though one is unfinished")
    parser.add_argument("--headset", action="store_true", help="you may speak while it speaks")
    parser.add_argument(
        "--trainee", metavar="NAME", help="teach whoever has this pseudonym, step by step"
    )
    parser.add_argument("--settings", type=Path, metavar="FILE", help="another settings file")
    parser.add_argument(
        "--settings-example",
        type=Path,
        nargs="?",
        const=settings_file.default_path(),
        metavar="FILE",
        help="write a settings file to start from, with every key, and stop",
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="keep sessions here")
    parser.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    parser.add_argument("--recipes", type=Path, metavar="DIR", help="another folder of recipes")
    parser.add_argument(
        "--play",
        type=Path,
        nargs="+",
        metavar="WAV",
        help="recordings in place of the microphone, no loudspeaker; ends after the last",
    )
    parser.add_argument("--board", action="store_true", help="show every chair on a page as well")
    clients.add_option(parser)
    board.add_options(parser)
    link.add_options(parser, tells=True)
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Listen until Ctrl-C."""
    if chosen.settings_example:
        settings_file.write_example(chosen.settings_example)
        print(f"written: {chosen.settings_example}")
        return 0
    settings = settings_file.load(chosen.settings)
    if chosen.headset:
        settings = settings_file.with_headset(settings)
    if chosen.trainee:
        settings = settings_file.with_trainee(settings, chosen.trainee)
    book = app.live_book(settings, chosen.recipes)
    sessions = chosen.out or settings.sessions
    resume = _resume(chosen, sessions, book, settings)
    room = PlayedRoom(paced=True) if chosen.play else None
    card: Card = room or SoundCard()
    model = app.load_model(chosen.model, book, settings.chairs)
    renderer = Renderer(settings.voice, settings.words_per_minute)
    key = salon_records.key_for(sessions / session_folder.STORE)
    chair = app.Chair(model, card, renderer.rendered, settings, SystemClock(), key)
    seats = clients.checked(chosen.client, settings.chairs)
    recordings = [wav_files.read(path) for path in chosen.play or ()]  # before anything is begun
    folder = session_folder.of_day(sessions, date.today())
    live = app.live_session(chair, book, folder, resume)
    live.parts.hub.watch(_printer(live))
    print(f"listening for {book.words.wake!r}; journal {live.parts.journal.path}; Ctrl-C ends")
    helpers = _helpers(live, room, recordings, app.fixed_phrases(book), renderer)
    try:
        with _board(chosen, live, folder):
            return _until_ended(live, seats)
    finally:
        live.stopped.set()
        for helper in helpers:
            helper.join(LET_GO)  # the keyboard becomes a usual one again


@contextlib.contextmanager
def _board(chosen: argparse.Namespace, live: Live, folder: Path) -> Iterator[None]:
    """The board beside the session, if one is wanted; its pages stay paired for the day."""
    with contextlib.ExitStack() as beside:
        feed = Feed()
        if chosen.board or chosen.network is not None:
            beside.enter_context(board.beside(chosen, feed, folder / KEEP_NAME))
        if chosen.link is not None:
            beside.enter_context(link.telling(chosen, feed))
        if feed.wanted:
            feed.attach(live.parts.hub, live.parts.clock.now)
            beside.enter_context(feed.beating())
        yield


def _until_ended(live: Live, seats: Sequence[Seat]) -> int:
    live.begin()
    for seat in seats:
        live.parts.hub.look_up(seat.chair, seat.client, aloud=False)
    try:
        live.run()
    except KeyboardInterrupt:
        print("\nended; the journal is kept")
    return 0


def _resume(
    chosen: argparse.Namespace, sessions: Path, book: app.Book, settings: Settings
) -> Path | None:
    """The journal to go on with. One with clients in it is never passed by in silence."""
    if chosen.new:
        return None
    found = session_folder.unfinished(sessions, date.today(), book.words, settings.rule)
    if chosen.resume:
        if found is None:
            raise ConfigError(f"{sessions}: no unfinished session of today: leave out --resume")
        print(f"going on with {found}")
        return found.journal
    if found is not None:
        raise ConfigError(_offer(found))
    return None


def _offer(found: Unfinished) -> str:
    return (
        f"a session of today is not finished ({found}): its clocks go on with "
        "'swatchword listen --resume'; '--new' starts without them"
    )


def _helpers(
    live: Live,
    room: PlayedRoom | None,
    recordings: Sequence[Sound],
    phrases: Sequence[str],
    renderer: Renderer,
) -> list[threading.Thread]:
    """Threads beside the session: the key, the phrases made beforehand, the played room."""
    stopped = live.stopped
    jobs: list[Callable[[], None]] = [lambda: _prepare(renderer, phrases, stopped)]
    if keys.there():
        jobs.append(lambda: keys.watch(live.parts.ears.wake, stopped))
    if room is not None:
        jobs.append(lambda: _pace(room, recordings, live))
    threads = [threading.Thread(target=job, daemon=True) for job in jobs]
    for thread in threads:
        thread.start()
    return threads


def _prepare(renderer: Renderer, phrases: Sequence[str], stopped: threading.Event) -> None:
    """Sentences without a blank are made before they are needed."""
    for phrase in phrases:
        if stopped.is_set():
            return
        renderer.rendered(phrase)


def _pace(room: PlayedRoom, recordings: Sequence[Sound], live: Live) -> None:
    """Each recording once what was said and answered before it is over, then the end."""
    to_come, over = list(recordings), 0.0
    while not live.stopped.wait(BLOCK_SECONDS):
        if to_come and room.seconds > FIRST and room.still > PAUSE:
            over = room.play(to_come.pop(0))
        if not to_come and room.seconds > over + AFTER_PLAY:  # a call may go on and on
            break
        room.tick()
    live.stop()


def _printer(live: Live) -> Callable[[Event, Sequence[Effect]], None]:
    """Prints every event but those of a journal that is folded: they were shown before."""
    screen = Screen(live.parts.hub.sentence)

    def show(event: Event, effects: Sequence[Effect]) -> None:
        if not live.parts.voice.muted:
            for line in screen.lines(event, effects):
                print(line, flush=True)

    return show

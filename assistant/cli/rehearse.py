"""`swatchword rehearse`: the main job without a salon."""

from __future__ import annotations

import argparse
import contextlib
import resource
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from assistant import app, keepsakes
from assistant.cli import clients
from assistant.core.events import Say
from assistant.core.script import Script, mmss
from assistant.edges import script_files, timeline_picture
from assistant.edges.hearing import RecordedHearing
from assistant.edges.journal import latest
from assistant.errors import ConfigError
from assistant.rehearsal import Hearing, Played
from assistant.transcript import Verdict, transcript, verdicts

ABOUT = """\
Plays a scripted colour service on a virtual clock: recordings of several voices, some with
dryer, water or chatter, go through the real speech recogniser, routine, clocks and voice. A
45-minute service passes in seconds.

Prints what was heard and said (mm:ss of the service), then what was expected against what was
said. Writes into the folder: journal, transcript.txt, session.wav (listen to it), timeline.svg
(look at it), records/ (one sheet per client), and with a trainee debrief.html.
"""
EXAMPLES = """\
examples:
  swatchword rehearse                    the root tap, spoken
  swatchword rehearse --list             every rehearsal
  swatchword rehearse mistakes           one with undo, misunderstandings and refusals
  swatchword rehearse two-clients --typed    no speech recognition: the words as written
  swatchword rehearse my-service.yaml --typed --out mine
exit code: 0 everything expected was said, 1 something was missed
"""
FIRST = "root-tap"


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "rehearse",
        help="play a recorded service on a virtual clock (the main job, no microphone)",
        description=ABOUT,
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("name", nargs="?", default=FIRST, help=f"which one (default {FIRST})")
    parser.add_argument("--list", action="store_true", help="list the rehearsals and stop")
    parser.add_argument(
        "--all", action="store_true", help="play every rehearsal, one after another"
    )
    parser.add_argument(
        "--typed", action="store_true", help="take the words as written, no sound in"
    )
    parser.add_argument(
        "--silent", action="store_true", help="no sound out: sentence lengths guessed"
    )
    parser.add_argument(
        "--resume", action="store_true", help="go on where a killed rehearsal ended"
    )
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help="folder (default rehearsal-out/NAME)"
    )
    parser.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    parser.add_argument("--recipes", type=Path, metavar="DIR", help="another folder of recipes")
    parser.add_argument(
        "--trainee", metavar="NAME", help="teach somebody: every step with its reason"
    )
    parser.add_argument(
        "--full-length", action="store_true", help="session.wav in real time, silences kept"
    )
    clients.add_option(parser)
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Play one rehearsal, all of them, or list them."""
    if chosen.list:
        for name in script_files.names():
            print(f"{name:<22} {script_files.load(name).about}")
        return 0
    if chosen.all:
        return max(_one(chosen, name) for name in script_files.names())
    return _one(chosen, chosen.name)


def _one(chosen: argparse.Namespace, name: str) -> int:
    began = time.perf_counter()
    script = script_files.load(name)
    if chosen.trainee:
        script = replace(script, trainee=chosen.trainee)
    seats = clients.checked(chosen.client, script.chairs)
    script = replace(script, seats=(*script.seats, *seats))
    folder = (chosen.out or Path("rehearsal-out")) / (
        Path(name).stem if chosen.all or not chosen.out else ""
    )
    print(f"{script.title}: {script.about}")
    book = app.read_book(chosen.recipes)
    hearing = _hearing(chosen, book, script)
    voice = app.voice_of(silent=chosen.silent)
    played = _play(chosen, script, book, hearing, voice.seconds_of, folder)
    lines = transcript(played)
    for line in lines:
        print(line)
    found = tuple(verdicts(script, lines))
    (folder / "transcript.txt").write_text("\n".join(map(str, lines)) + "\n", encoding="utf-8")
    print()
    for verdict in found:
        print(verdict)
    _keepsakes(chosen, script, book, played, hearing, voice, folder)
    if played.damage is not None:
        print(f"journal damage: {played.damage}")
    return _summary(script, found, played, hearing, folder, time.perf_counter() - began)


def _hearing(chosen: argparse.Namespace, book: app.Book, script: Script) -> Hearing:
    if chosen.typed:
        return app.typed_hearing(book)
    model = app.load_model(chosen.model, book, script.chairs)
    return app.recorded_hearing(book, model, script.chairs)


def _play(
    chosen: argparse.Namespace,
    script: Script,
    book: app.Book,
    hearing: Hearing,
    seconds_of: Callable[[Say, str], float],
    folder: Path,
) -> Played:
    rehearsal = app.rehearsal(script, book, hearing, seconds_of, folder)
    if not chosen.resume:
        return rehearsal.play()
    journal = latest(folder) if folder.is_dir() else None
    if journal is None:
        raise ConfigError(f"{folder}: no rehearsal to go on with: leave out --resume")
    return rehearsal.resume(journal)


def _keepsakes(
    chosen: argparse.Namespace,
    script: Script,
    book: app.Book,
    played: Played,
    hearing: Hearing,
    voice: app.GuessedVoice | app.RenderedVoice,
    folder: Path,
) -> None:
    """Picture and sound of what was played."""
    marks = keepsakes.timeline_of(script, played)
    timeline_picture.save_svg(marks, folder / "timeline.svg")
    with contextlib.suppress(ConfigError):  # without Pillow the SVG is the picture
        timeline_picture.save_png(marks, folder / "timeline.png")
    if script.trainee:
        keepsakes.debrief_html(script, played, book.phrases, folder)
    if isinstance(voice, app.RenderedVoice):
        keepsakes.session_wav(
            played, hearing, voice.sound, folder / "session.wav", full_length=chosen.full_length
        )


def _summary(
    script: Script,
    found: tuple[Verdict, ...],
    played: Played,
    hearing: Hearing,
    folder: Path,
    took: float,
) -> int:
    missed = [verdict for verdict in found if not verdict.met]
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print()
    print(
        f"{mmss(played.ended_at)} of service in {took:.1f} s, peak memory {memory:.0f} MB"
        + (
            f", recognition at {hearing.worked.real_time_factor:.3f} of real time"
            if isinstance(hearing, RecordedHearing)
            else ""
        )
    )
    print(f"{len(found) - len(missed)} of {len(found)} expectations met; see {folder}/")
    return 1 if missed else 0

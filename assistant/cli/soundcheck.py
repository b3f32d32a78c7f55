"""`swatchword soundcheck`: is everything there, and is the room quiet enough?"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

from assistant import app, soundcheck
from assistant.edges import settings_file
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import SoundCard
from assistant.errors import DeviceError
from assistant.soundcheck import Finding, guarded

ABOUT = """\
Looks at everything a session needs: settings, speech model and its words, recognition of a
shipped recording, speech, disk, clock, then microphone (three seconds, not kept) and
loudspeaker (a tone and a sentence). One line each: ok, or "look here" and what to do.
"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "soundcheck",
        help="microphone, loudspeaker, noise, model, words, clock and disk",
        description=ABOUT,
        epilog="exit code: 0 everything is there, 1 something needs a look",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--words", nargs="*", metavar="WORD", help="only: does the speech model know these words"
    )
    parser.add_argument("--settings", type=Path, metavar="FILE", help="another settings file")
    parser.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Look at everything and report line by line."""
    settings = settings_file.load(chosen.settings)
    well = True
    for finding in _findings(chosen, settings):
        print(finding, flush=True)
        well = well and finding.ok
    print("everything is there" if well else "something needs a look: see above")
    return 0 if well else 1


def _findings(chosen: argparse.Namespace, settings: Settings) -> Iterator[Finding]:
    book = app.live_book(settings)
    model = Model(chosen.model or bundled_model())
    if chosen.words is not None:
        if chosen.words:
            yield from soundcheck.asked_words(model, chosen.words)
        else:
            yield soundcheck.model_and_words(model, book, settings.chairs)
        return
    path = chosen.settings or settings_file.default_path()
    yield soundcheck.settings_finding(settings, path)
    yield soundcheck.model_and_words(model, book, settings.chairs)
    yield guarded(
        "recognition", lambda: soundcheck.recognised(model, app.read_book(), settings.chairs)
    )
    yield soundcheck.clock()
    yield soundcheck.disk(settings)
    renderer = None
    try:
        renderer = made = Renderer(settings.voice, settings.words_per_minute)
        yield guarded("speech", lambda: soundcheck.speech(made))
    except DeviceError as error:
        yield Finding("speech", False, str(error))
    yield from _devices(settings, renderer)


def _devices(settings: Settings, renderer: Renderer | None) -> Iterator[Finding]:
    try:
        card = SoundCard()
    except DeviceError as error:
        yield Finding("sound card", False, str(error))
        return
    for kind, name in (("input", "microphones"), ("output", "loudspeakers")):
        names = card.names(kind)
        yield Finding(name, bool(names), ", ".join(names) or "none", "" if names else "plug one in")
    yield guarded("microphone", lambda: soundcheck.microphone(card, settings.microphone))
    yield guarded(
        "loudspeaker", lambda: soundcheck.loudspeaker(card, settings.loudspeaker, renderer)
    )

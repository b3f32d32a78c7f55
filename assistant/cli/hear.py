"""`swatchword hear`: how well the shipped recordings are understood, as a table."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from assistant import app, hearing_table
from assistant.edges.recordings import read_manifest, recordings_folder

ABOUT = """\
Plays every recording through the recogniser, as a service would, and counts what was understood
exactly, asked back, rejected, or taken for another command: by noise, level and voice; then delay,
processor, memory and loading. With --model any small Vosk model can be compared: what talk costs
was chosen with --acoustic-scale=0.7 in the model's conf/model.conf, so try that line in another's.
The voices and the noise are synthetic: the figures steer, they do not say how well people are
understood. Takes some minutes.
"""
CHAIRS = 4


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "hear",
        help="table of how well the recordings are understood",
        description=ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--model", type=Path, metavar="DIR", help="another Vosk model folder")
    parser.add_argument("--recordings", type=Path, metavar="DIR", help="another set of recordings")
    parser.add_argument("--misses", action="store_true", help="name every miss")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Hear everything and print the table."""
    book = app.read_book()
    began = time.perf_counter()
    model = app.load_model(chosen.model, book, CHAIRS)
    hearing = app.recorded_hearing(book, model, CHAIRS)
    model.speak(hearing.language)
    loading = time.perf_counter() - began
    folder = chosen.recordings or recordings_folder()
    result = hearing_table.hear_all(hearing, read_manifest(folder), folder)
    for line in hearing_table.table(result):
        print(line)
    print(f"loading, with our language: {loading:.2f} s; peak memory: {_peak_memory()}")
    for line in hearing_table.misses(result) if chosen.misses else ():
        print(line)
    return 0


def _peak_memory() -> str:
    """Of this process; unknown where the system does not count it."""
    if sys.platform == "win32":
        return "not counted here"
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return f"{peak / (1 << 20 if sys.platform == 'darwin' else 1 << 10):.0f} MB"

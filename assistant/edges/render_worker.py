"""The process in which pyttsx3 turns sentences into WAV files: `render_worker.py VOICE RATE`.

Why a process of its own: espeak-ng carries state from one sentence to the next, so the same text
comes out a few samples longer or shorter each time. Here every sentence is made by a fresh fork
of a process that has never spoken: the same text gives the same bytes, on any day and in any
order. A crash or a hang of the native library ends one fork and never the clocks.

It reads one JSON line [text, path] after the other and answers "ok" or one line of trouble.
"""

from __future__ import annotations

import ctypes
import importlib
import importlib.util
import json
import os
import signal
import sys
import threading
from pathlib import Path
from typing import TextIO

READY = "ready"
DONE = "ok"
PATIENCE = 5  # seconds for one sentence; it takes about 20 ms


def bring_espeak() -> None:
    """Load the wheel's library under the name that pyttsx3 asks for, and tell it its data.

    glibc finds a library that is loaded already by its SONAME, so the later load by name gets
    this one and not another version of the system. Without the wheel the system's is used.
    """
    found = importlib.util.find_spec("espeakng_loader")
    if found is None or found.origin is None:
        return
    folder = Path(found.origin).parent
    library = folder / "libespeak-ng.so.1"
    if library.exists():
        ctypes.CDLL(str(library), mode=ctypes.RTLD_GLOBAL)
        os.environ["ESPEAK_DATA_PATH"] = str(folder)


def main(voice: str, words_per_minute: int) -> int:
    """Serve until the other side closes the pipe."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the other side, which closes us
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # the driver prints the name of every file it saves: not into our replies
    try:
        bring_espeak()
        importlib.import_module("pyttsx3.drivers.espeak")
    except (ImportError, OSError, RuntimeError) as error:
        _reply(replies, f"espeak-ng does not load ({' '.join(str(error).split())[:120]})")
        return 1
    _reply(replies, READY)
    for line in sys.stdin:
        text, path = json.loads(line)
        _reply(replies, _in_a_fork(text, path, voice, words_per_minute))
    return 0


def _reply(replies: TextIO, line: str) -> None:
    replies.write(line + "\n")
    replies.flush()


def _in_a_fork(text: str, path: str, voice: str, words_per_minute: int) -> str:
    child = os.fork()
    if child == 0:
        signal.alarm(PATIENCE)  # ends this fork, whatever it hangs in
        try:
            ended = _render(text, path, voice, words_per_minute)
        except BaseException:  # noqa: BLE001 - a fork must never return into the loop above
            ended = False
        os._exit(0 if ended else 1)
    _, status = os.waitpid(child, 0)
    if status == 0:
        return DONE
    return "no answer in time" if os.WIFSIGNALED(status) else "the driver gave up"


def _render(text: str, path: str, voice: str, words_per_minute: int) -> bool:
    """One engine, one text: save, run, wait for its end (`runAndWait` alone returns early)."""
    import pyttsx3

    engine = pyttsx3.init("espeak")
    _speak_as(voice, words_per_minute)
    done = threading.Event()
    engine.connect("finished-utterance", lambda name, completed: done.set())
    engine.save_to_file(text, path)
    engine.runAndWait()
    return done.wait(PATIENCE)


def _speak_as(voice: str, words_per_minute: int) -> None:
    """Voice and rate, waited for.

    Set through the engine they only join a queue that a sentence may overtake on a busy machine:
    one in about two hundred came out at the driver's own 200 words a minute.
    """
    from pyttsx3.drivers import _espeak

    _espeak.Synchronize()
    _espeak.SetVoiceByName(voice.encode())
    _espeak.SetParameter(_espeak.RATE, words_per_minute, 0)
    _espeak.Synchronize()


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], int(sys.argv[2])))

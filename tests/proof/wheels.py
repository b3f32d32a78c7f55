"""The wheel in clean environments of several Pythons: a stranger's first command, with no rights.

Built once, installed with its packages, then `swatchword rehearse` in an empty folder by a user
who is not root and whose home cannot be written to. Then in a folder that cannot be written to:
one line must say so. Needs root (to become that user), pip's registry, and the Pythons.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.proof.outcome import Outcome

ROOT = Path(__file__).resolve().parent.parent.parent
VERSIONS = ("3.11", "3.12", "3.13")
NOBODY = 65534
Done = subprocess.CompletedProcess[str]


def prove(short: bool = False) -> list[Outcome]:
    """Short: the present Python only. `WHEEL_PYTHONS` names interpreters, divided by colons."""
    with tempfile.TemporaryDirectory(prefix="wheels-") as place:
        folder = Path(place)
        folder.chmod(0o755)
        wheel = _built(folder)
        pythons = [sys.executable] if short else _pythons()
        return [_installed(python, wheel, folder) for python in pythons]


def _pythons() -> list[str]:
    named = os.environ.get("WHEEL_PYTHONS", "")
    if named:
        return named.split(os.pathsep)
    return [found for v in VERSIONS if (found := shutil.which(f"python{v}")) is not None]


def _built(folder: Path) -> Path:
    """From a copy: building leaves folders behind."""
    source = folder / "source"
    kept = shutil.ignore_patterns(".*", "*.egg-info", "build", "dist", "__pycache__")
    shutil.copytree(ROOT, source, ignore=kept)
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", str(folder)]
    _must([*pip, str(source)])
    return next(folder.glob("*.whl"))


def _installed(python: str, wheel: Path, folder: Path) -> Outcome:
    version = _must([python, "-c", "import sys; print(*sys.version_info[:3], sep='.')"])
    outcome = Outcome(f"Python {version}")
    place = folder / version
    _must([python, "-m", "venv", str(place)])
    done = _run([str(place / "bin" / "pip"), "install", "--quiet", str(wheel)], folder)
    outcome.check(done.returncode == 0, f"install: {_last(done)}")
    if done.returncode == 0:
        checked = _run([str(place / "bin" / "pip"), "check"], folder)
        outcome.check(checked.returncode == 0, f"pip check: {_last(checked)}")
        _used(outcome, place / "bin" / "swatchword", folder / f"user-{version}")
    outcome.notes = f"wheel of {wheel.stat().st_size / 1e6:.0f} MB"
    return outcome


def _used(outcome: Outcome, program: Path, folder: Path) -> None:
    """By a user with no rights: in an empty folder, then where nothing can be written."""
    home, own, shut = folder / "home", folder / "own", folder / "shut"
    for each in (home, own, shut):
        each.mkdir(parents=True)
        each.chmod(0o555)
    os.chown(own, NOBODY, NOBODY)
    own.chmod(0o755)
    done = _as_nobody([str(program), "rehearse"], own, home)
    outcome.check(done.returncode == 0, f"rehearse: exit code {done.returncode}: {_last(done)}")
    for words in (["--version"], ["check"], ["plan", "root-melt"], ["choose", "--facts"]):
        done = _as_nobody([str(program), *words], own, home)
        outcome.check(done.returncode == 0, f"{words[0]}: {_last(done)}")
    for words in (["rehearse", "--typed"], ["plan", "root-melt"], ["listen", "--settings-example"]):
        done = _as_nobody([str(program), *words], shut, home)
        told = done.stderr.strip().splitlines()
        clear = done.returncode == 1 and len(told) == 1 and told[0].startswith("swatchword: ")
        outcome.check(clear, f"{words[0]} where nothing can be written: {_last(done)}")
    outcome.check(not [*home.rglob("*")], f"{home} was written to")


def _as_nobody(command: Sequence[str], folder: Path, home: Path) -> Done:
    before = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]
    return _run([*before, *command], folder, home)


def _run(command: Sequence[str], folder: Path, home: Path | None = None) -> Done:
    """Without anything of this environment but the path."""
    settings = {"PATH": os.environ["PATH"], "LANG": "C.UTF-8"}
    kept = ("PIP_", "LD_LIBRARY_PATH")  # where packages come from; where a copied Python's lie
    settings |= {key: value for key, value in os.environ.items() if key.startswith(kept)}
    if home is not None:
        settings["HOME"] = str(home)
    return subprocess.run(
        command,
        cwd=folder,
        env=settings,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )


def _must(command: Sequence[str]) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise AssertionError(f"{' '.join(command)}: {_last(done)}")
    return done.stdout.strip()


def _last(done: Done) -> str:
    return ((done.stderr or done.stdout).strip().splitlines() or [""])[-1][:300]

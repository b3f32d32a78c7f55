"""Arrows point one way: cli -> app -> (hub, rehearsal, edges) -> core -> errors."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import assistant

ROOT = Path(assistant.__file__).parent
# What core may never touch: time, threads, files, databases, sound, logging.
IMPURE = frozenset(
    "time datetime threading queue asyncio sqlite3 yaml logging os pathlib socket subprocess io "
    "sounddevice vosk pyttsx3".split()
)
MAY_IMPORT = {
    "core": ("assistant.core", "assistant.errors"),
    "edges": ("assistant.core", "assistant.edges", "assistant.errors"),
    "forge": ("assistant.core", "assistant.edges", "assistant.forge", "assistant.errors"),
}


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def modules(folder: str) -> list[Path]:
    found = sorted((ROOT / folder).rglob("*.py"))
    assert found, f"no module in {folder}"
    return found


def test_core_is_pure() -> None:
    touched = {
        f"{path.name}: {name}"
        for path in modules("core")
        for name in imports(path)
        if name.split(".")[0] in IMPURE
    }
    assert touched == set()


def test_no_arrow_points_back() -> None:
    wrong = {
        f"{path.relative_to(ROOT)}: {name}"
        for folder, allowed in MAY_IMPORT.items()
        for path in modules(folder)
        for name in imports(path)
        if name.startswith("assistant.") and not name.startswith(allowed)
    }
    assert wrong == set()


def test_the_hub_knows_no_device_and_no_library() -> None:
    names = set(imports(ROOT / "hub.py"))
    assert not {n for n in names if n.startswith(("assistant.edges", "vosk", "sounddevice"))}


def test_the_forge_is_never_imported_at_run_time() -> None:
    others = [p for p in ROOT.rglob("*.py") if "forge" not in p.parts]
    assert others
    assert not {p.name for p in others for n in imports(p) if n.startswith("assistant.forge")}


def test_only_the_command_line_prints() -> None:
    printing = {
        path.relative_to(ROOT).as_posix()
        for path in ROOT.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id == "print"
    }
    assert {p for p in printing if not p.startswith(("cli/", "forge/"))} == set()

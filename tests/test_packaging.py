"""What `pip install .` carries: every package, the words, the recipes and the recordings."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
SETUP: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))[
    "tool"
]["setuptools"]


def test_every_package_is_named() -> None:
    found = {
        ".".join(file.parent.relative_to(ROOT).parts)
        for file in (ROOT / "assistant").rglob("__init__.py")
    }
    assert found | set(SETUP["package-dir"]) == set(SETUP["packages"])


def test_the_data_folders_travel_inside_the_package() -> None:
    folders = SETUP["package-dir"]
    assert folders["assistant.recipes"] == "recipes"
    assert folders["assistant.audio_fixtures"] == "audio_fixtures"


def test_every_data_file_is_carried() -> None:
    carried: set[Path] = set()
    for package, globs in SETUP["package-data"].items():
        folder = ROOT / SETUP["package-dir"].get(package, package.replace(".", "/"))
        carried.update(path for glob in globs for path in folder.glob(glob))
    wanted = [
        path
        for folder in ("assistant", "recipes", "audio_fixtures")
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and path.suffix not in (".py", ".pyc")
    ]
    assert len(wanted) > 100
    assert [str(path.relative_to(ROOT)) for path in wanted if path not in carried] == []

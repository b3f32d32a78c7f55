"""What came of each seed, one line in a file: a long proof can be seen, stopped and gone on with.

Every line is what one day found, as JSON. A seed that is in the file is not run again.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any


class KeptSeeds:
    """The lines of one file; without a file nothing is kept. `about` is the same in all of them."""

    def __init__(self, path: str, **about: object) -> None:
        """Made with its first line."""
        self._path = Path(path) if path else None
        self._about = about

    def done(self) -> Iterator[tuple[int, dict[str, Any]]]:
        """The seeds that were run with the same settings, and what they found."""
        if self._path is None or not self._path.exists():
            return
        for line in self._path.read_text(encoding="utf-8").splitlines():
            found = json.loads(line)
            if all(found[key] == value for key, value in self._about.items()):
                yield found["seed"], found["found"]

    def add(self, seed: int, found: dict[str, Any]) -> None:
        """One more day."""
        if self._path is None:
            return
        line = json.dumps({"seed": seed, **self._about, "found": found})
        with self._path.open("a", encoding="utf-8") as file:
            file.write(f"{line}\n")

"""Which page on the salon's network may look, and which may press?

A page asks; two short codes are then shown at the salon's own screen, one to press and one only
to look. A code serves one page, for two minutes. The page gets a token in a cookie that no
script can read. A lost laptop or a crash must not part the tablets from the board in the middle
of a day: the day's tokens are kept as hashes, if a place for them is given.
"""

from __future__ import annotations

import json
import logging
import secrets
import threading
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Literal

from assistant.edges import whole_files
from assistant.edges.clock import boottime
from assistant.errors import StoreError

log = logging.getLogger(__name__)
Role = Literal["operator", "viewer"]
ROLES: tuple[Role, ...] = ("operator", "viewer")
CODE_SECONDS = 120.0
BETWEEN_CODES = 20.0  # a page that asks again and again floods nobody's screen
MOST_TRIES = 5  # wrong ones for a pair of codes
MOST_IN_ALL = 50  # then pairing is over until the next start: a guess hits once in 10,000 times
KEEP_NAME = "board-pages.json"


class Pairing:
    """The codes and tokens of one board. Any thread may call."""

    def __init__(
        self,
        tell: Callable[[str], None],
        keep: Path | None = None,
        now: Callable[[], float] = boottime,
    ) -> None:
        """`tell` shows a line at the salon's own screen; `keep` is the file of hashed tokens."""
        self._tell = tell
        self._keep = keep
        self._now = now
        self._lock = threading.Lock()
        self._codes: dict[str, Role] = {}
        self._made_at = float("-inf")
        self._tries = self._wrong = 0
        self._tokens = _kept(keep)

    @property
    def closed(self) -> bool:
        """Too many wrong codes: no page is paired any more."""
        return self._wrong >= MOST_IN_ALL

    def ask(self) -> bool:
        """Show codes, unless some were shown just now; False once pairing is over."""
        with self._lock:
            age = self._now() - self._made_at
            if self.closed or (self._codes and age < CODE_SECONDS) or age < BETWEEN_CODES:
                return not self.closed
            first, second = secrets.SystemRandom().sample(range(10**6), 2)
            self._codes = {f"{first:06d}": "operator", f"{second:06d}": "viewer"}
            self._made_at, self._tries = self._now(), 0
            codes = [f"{code[:3]} {code[3:]}" for code in self._codes]
        self._tell(
            f"a page asks to see the board: type {codes[0]} there to press its buttons, "
            f"{codes[1]} only to look (within {CODE_SECONDS / 60:.0f} minutes, one page)"
        )
        return True

    def pair(self, code: str) -> str:
        """A token for a right code, else empty."""
        with self._lock:
            fresh = self._now() - self._made_at < CODE_SECONDS
            if self.closed or not fresh or self._tries >= MOST_TRIES:
                return ""
            typed = "".join(code.split())
            role = self._codes.get(typed)
            if role is None:
                self._tries, self._wrong = self._tries + 1, self._wrong + 1
                return ""
            self._codes = {}
            token = secrets.token_urlsafe(32)
            self._tokens[_hash(token)] = role
            self._write()
            return token

    def role(self, token: str) -> Role | None:
        """What a page with this token may do; None: nothing."""
        return self._tokens.get(_hash(token)) if token else None

    def _write(self) -> None:
        if self._keep is None:
            return
        try:
            whole_files.write(self._keep, json.dumps(self._tokens))
        except StoreError as error:  # only a restart would miss it: that page pairs again
            log.warning("%s", error)


def _hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()


def _kept(keep: Path | None) -> dict[str, Role]:
    """The tokens of earlier today; a file that is not ours counts as none."""
    if keep is None or not keep.exists():
        return {}
    try:
        found = json.loads(keep.read_text(encoding="utf-8"))
        return {str(token): ROLES[ROLES.index(role)] for token, role in found.items()}
    except (OSError, ValueError, AttributeError):
        log.warning("%s: not readable: every page pairs again", keep)
        return {}

"""Runs a command with every use of the network written down and refused.

The hook is Python's own audit hook (PEP 578), put into every Python process that the command
starts, by a `sitecustomize` module in a folder of its own. Where this machine allows it, the
command also gets a network namespace with nothing in it, so that libraries that are not Python
have no network either.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

LOG = "NETWORK_LOG"
HOOK = f'''
import os, sys

WATCHED = {{
    "socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname",
    "socket.gethostbyaddr", "socket.sendto", "socket.sendmsg", "urllib.Request",
}}


def _watch(event, arguments):
    if event in WATCHED:
        line = f"{{event}} {{arguments[1:]!r}} {{sys.argv!r}}\\n".encode()
        handle = os.open(os.environ["{LOG}"], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
        os.write(handle, line)
        os.close(handle)
        raise PermissionError("the network is forbidden here")


sys.addaudithook(_watch)
'''


@dataclass(frozen=True, slots=True)
class Ran:
    """What came of a command: its exit code, what it printed, every use of the network."""

    code: int
    printed: str
    uses: tuple[str, ...]


@cache
def alone() -> tuple[str, ...]:
    """What to put before a command to take every network away; nothing if that is not allowed."""
    before = ("unshare", "--net", "--map-root-user")
    if shutil.which(before[0]) is None:
        return ()
    tried = subprocess.run([*before, "true"], capture_output=True, check=False)
    return before if tried.returncode == 0 else ()


def run(
    command: Sequence[str],
    folder: Path,
    *,
    settings: dict[str, str] | None = None,
    seconds: float = 3600.0,
) -> Ran:
    """Run it in a folder, with no network."""
    with tempfile.TemporaryDirectory(prefix="offline-") as hooked:
        hook, log = Path(hooked), Path(hooked) / "uses"
        (hook / "sitecustomize.py").write_text(HOOK, encoding="utf-8")
        environment = {**os.environ, **(settings or {})}
        paths = [str(hook), environment.get("PYTHONPATH", "")]
        environment |= {
            LOG: str(log),
            "PYTHONPATH": os.pathsep.join(path for path in paths if path),
        }
        done = subprocess.run(
            [*alone(), *command],
            cwd=folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=seconds,
            check=False,
        )
        uses = log.read_text("utf-8").splitlines() if log.exists() else []
        return Ran(done.returncode, done.stdout + done.stderr, tuple(uses))

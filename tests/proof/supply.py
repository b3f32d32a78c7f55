"""What is installed with it: every package, its version, its licence; and do they fit together?

Read from the packages' own metadata. A licence that this list does not know fails: somebody must
look at it first.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from tests.proof.outcome import Outcome

ROOT = Path(__file__).resolve().parent.parent.parent
CONSTRAINTS = ROOT / "tests" / "constraints.txt"
USERS = ("plan", "pictures", "private", "link")  # extras that people at a chair may install
LICENCE_KEYS = ("License-Expression", "License")
# Licences under which this program may be passed on with the package, as their metadata call them.
KNOWN = re.compile(
    r"(apache|mit\b|bsd|isc|mozilla|mpl|python software|psf|unlicense|public domain|hpnd|zlib|"
    r"gnu (lesser )?general public|l?gpl|eclipse|epl)",
    re.IGNORECASE,
)
# Metadata that name no licence: taken from the licence of what the package carries.
LOOKED_UP = {"espeakng-loader": "GPL-3.0-or-later (GNU GPL; it carries the espeak-ng library)"}
_NAME = re.compile(r"[A-Za-z0-9._-]+")


def prove(short: bool = False) -> list[Outcome]:
    """Short: without `pip check`, and of the extras only what is installed here."""
    licences = Outcome("licences")
    pins = Outcome("pinned for CI")
    pinned, other = dict(_pins()), list[str]()
    for name in sorted(_needed(short)):
        found = distribution(name)
        licence = licence_of(found)
        licences.check(bool(licence), f"{name}: its metadata name no licence that we know")
        pins.check(name in pinned, f"{name} is not in {CONSTRAINTS.name}")
        if name in pinned and pinned[name] != found.version:
            other.append(f"{name} {found.version}")
        if not short:
            sys.stdout.write(f"{name:28} {found.version:16} {licence or '?'}\n")
    pins.notes = f"here in another version: {', '.join(other) or 'none'}"
    outcomes = [licences, pins]
    if not short:
        fits = Outcome("pip check")
        done = subprocess.run(
            [sys.executable, "-m", "pip", "check"], capture_output=True, text=True, check=False
        )
        fits.check(done.returncode == 0, done.stdout.strip().replace("\n", "; "))
        outcomes.append(fits)
    return outcomes


def licence_of(found: Distribution) -> str:
    """What its metadata call the licence; empty if we do not know that."""
    meta = found.metadata
    told = [each for key in LICENCE_KEYS for each in meta.get_all(key) or ()]
    told.append(LOOKED_UP.get(plain(meta["Name"]), ""))
    classes = meta.get_all("Classifier") or ()
    told += [each.rpartition(" :: ")[2] for each in classes if "License ::" in each]
    lines = [each.strip().splitlines()[0][:60] for each in told if each.strip()]
    return next((line for line in lines if KNOWN.search(line)), "")


def _needed(short: bool) -> set[str]:
    """Every package that an installation brings along, by its plain name."""
    needed: set[str] = set()
    ask = [_of_project(short)]
    while ask:
        for requirement in _present(ask.pop()):
            if requirement not in needed:
                needed.add(requirement)
                ask.append(list(distribution(requirement).requires or ()))
    return needed


def _of_project(short: bool) -> list[str]:
    """What the program itself asks for, with the extras of people at a chair."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    of_users = [line for name in USERS for line in extras[name]]
    if short:  # the README's second command installs none of them
        of_users = [line for line in of_users if _is_here(line)]
    return [*project["dependencies"], *of_users]


def _is_here(line: str) -> bool:
    matched = _NAME.match(line)
    try:
        distribution(plain(matched[0]) if matched else "")
    except (PackageNotFoundError, ValueError):
        return False
    return True


def _present(requirements: Iterable[str]) -> Iterator[str]:
    """The plain names of those that are wanted here; extras of other packages are not."""
    for line in requirements:
        what, _, condition = line.partition(";")
        if "extra ==" in condition:
            continue
        matched = _NAME.match(what.strip())
        package = plain(matched[0]) if matched else ""
        try:
            distribution(package)
        except PackageNotFoundError:
            if not condition.strip():  # else for another system or version of Python
                raise
            continue
        yield package


def plain(name: str) -> str:
    """The name as packages are compared (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _pins() -> Iterator[tuple[str, str]]:
    for line in CONSTRAINTS.read_text(encoding="utf-8").splitlines():
        name, equals, version = line.partition("==")
        if equals and not line.startswith("#"):
            yield plain(name), version.split()[0]

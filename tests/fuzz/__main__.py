"""`python -m tests.fuzz recipe --minutes 3`: looks for an input that breaks it (extra `fuzz`).

A broken input is written to `crash-...` in the working folder, and the exit code is not 0.
`--keep` copies inputs that reach places of their own into the corpus that the tests replay.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from hashlib import sha1
from pathlib import Path
from random import Random
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.fuzz.targets import Target  # imported later, while instrumented


def main() -> int:
    """Run one target under the fuzzer; it ends the process itself."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("target")
    parser.add_argument("--minutes", type=float, default=3)
    parser.add_argument("--work", type=Path, help="folder of inputs found (default: a new one)")
    parser.add_argument("--keep", action="store_true", help="only: copy the best of --work")
    asked = parser.parse_args()
    try:
        import atheris  # type: ignore[import-untyped] # it ships none
    except ImportError:
        sys.stderr.write("the fuzzer is not installed: pip install 'swatchword[fuzz]'\n")
        return 2
    with atheris.instrument_imports(include=["assistant", "yaml", "http"]):
        from tests.fuzz.targets import TARGETS
    if asked.target not in TARGETS:
        sys.stderr.write(f"no target {asked.target!r}: there are {', '.join(TARGETS)}\n")
        return 2
    target = TARGETS[asked.target]
    work = asked.work or Path(tempfile.mkdtemp(prefix=f"fuzz-{asked.target}-"))
    if asked.keep:
        from tests.fuzz.keeping import keep

        sys.stdout.write(f"{target.name}: {keep(target, work)}\n")
        return 0
    _fill(work, [*target.seeds(), *(path.read_bytes() for path in target.kept())])
    _fuzz(atheris, target, work, asked.minutes)
    return 0


def _fill(work: Path, inputs: list[bytes]) -> None:
    work.mkdir(parents=True, exist_ok=True)
    for data in inputs:
        (work / sha1(data, usedforsecurity=False).hexdigest()).write_bytes(data)


def _fuzz(atheris: Any, target: Target, work: Path, minutes: float) -> None:
    from tests.fuzz.limits import no_hang

    def one(data: bytes) -> None:
        with no_hang():
            target.run(data)

    def change(data: bytes, most: int, seed: int) -> bytes:
        """Mostly as people change a text; otherwise the fuzzer's own way."""
        if seed % 4:
            return target.change(data, Random(seed))[:most]
        mutated: bytes = atheris.Mutate(data, most)
        return mutated

    options = [
        f"-max_total_time={int(minutes * 60)}",
        "-max_len=40000",
        "-print_final_stats=1",
        f"-artifact_prefix={work.parent}/crash-{work.name}-",
        str(work),
    ]
    atheris.Setup([sys.argv[0], *options], one, custom_mutator=change)
    atheris.Fuzz()


if __name__ == "__main__":
    sys.exit(main())

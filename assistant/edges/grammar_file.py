"""How does a language of ours get into a Vosk model? As its word grammar, graph/Gr.fst.

The recogniser's own run-time grammars are word pairs: whatever two phrases have in common they
may be crossed at. Gr.fst may be any automaton, so we write one (OpenFst's const format, version
2) into a folder that borrows everything else from the model. The word numbers are the model's.
"""

from __future__ import annotations

import os
import shutil
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from assistant.core.language import Language
from assistant.errors import ConfigError

GRAMMAR = Path("graph") / "Gr.fst"
FST_MAGIC, SYMBOLS_MAGIC = 2125659606, 2125658996
HAS_INPUT_SYMBOLS, HAS_OUTPUT_SYMBOLS = 1, 2
CONST_UNALIGNED = 2
ACCEPTOR = 0x10000  # input and output labels are the same: every arc here
NEVER = float("inf")  # the cost of ending where nothing ends
NO_WORD = "<eps>"


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The numbers that a model knows its words by, and the table as it stands in the file."""

    numbers: dict[str, int]
    table: bytes


def read_vocabulary(model: Path) -> Vocabulary:
    """From the model's own word grammar; `ConfigError` if there is none to read."""
    path = model / GRAMMAR
    try:
        content = path.read_bytes()
        return _vocabulary(content)
    except (OSError, struct.error, ValueError) as error:
        raise ConfigError(
            f"{path}: no list of words can be read here ({error}); "
            "give a small model, one with graph/HCLr.fst and graph/Gr.fst"
        ) from error


def _vocabulary(content: bytes) -> Vocabulary:
    magic, at = struct.unpack_from("<i", content)[0], 4
    if magic != FST_MAGIC:
        raise ValueError("not an automaton")
    for _ in ("its type", "its arcs"):
        at += 4 + struct.unpack_from("<i", content, at)[0]
    flags = struct.unpack_from("<ii", content, at)[1]
    at += struct.calcsize("<iiQqqq")
    if flags & HAS_INPUT_SYMBOLS:
        at = _symbols(content, at)[1]
    if not flags & HAS_OUTPUT_SYMBOLS:
        raise ValueError("it has no words")
    numbers, end = _symbols(content, at)
    return Vocabulary(numbers, content[at:end])


def _symbols(content: bytes, at: int) -> tuple[dict[str, int], int]:
    """A table of words, and where it ends."""
    magic, named = struct.unpack_from("<ii", content, at)
    if magic != SYMBOLS_MAGIC:
        raise ValueError("its words are not where they belong")
    at += 8 + named
    count = struct.unpack_from("<qq", content, at)[1]
    at += 16
    found = {}
    for _ in range(count):
        length = struct.unpack_from("<i", content, at)[0]
        word = content[at + 4 : at + 4 + length].decode("utf-8")
        at += 4 + length
        found[word] = struct.unpack_from("<q", content, at)[0]
        at += 8
    return found, at


def grammar_bytes(language: Language, vocabulary: Vocabulary) -> bytes:
    """The automaton in OpenFst's const format; words the model does not know are left out."""
    leaving: list[list[tuple[int, float, int]]] = [[] for _ in range(language.states)]
    for source, target, word, cost in language.arcs:
        number = vocabulary.numbers.get(word or NO_WORD)
        if number is not None:
            leaving[source].append((number, cost, target))
    ends = dict(language.ends)
    count = sum(len(arcs) for arcs in leaving)
    head = struct.pack("<i", FST_MAGIC) + _named("const") + _named("standard")
    head += struct.pack("<iiQ", CONST_UNALIGNED, HAS_OUTPUT_SYMBOLS, ACCEPTOR)
    head += struct.pack("<qqq", 0, language.states, count) + vocabulary.table
    states, packed, first = [], [], 0
    for state, arcs in enumerate(leaving):
        arcs.sort()
        silent = sum(number == 0 for number, _, _ in arcs)
        end = ends.get(state, NEVER)
        states.append(struct.pack("<fIIII", end, first, len(arcs), silent, silent))
        packed += [struct.pack("<iifi", n, n, cost, target) for n, cost, target in arcs]
        first += len(arcs)
    return head + b"".join(states) + b"".join(packed)


def _named(text: str) -> bytes:
    return struct.pack("<i", len(text)) + text.encode()


@contextmanager
def model_that_speaks(language: Language, model: Path, vocabulary: Vocabulary) -> Iterator[Path]:
    """A folder with the model's parts and this language, for as long as it takes to load."""
    with TemporaryDirectory(prefix="swatchword-") as name:
        folder = Path(name)
        _borrow(model, folder, but="graph")
        (folder / "graph").mkdir()
        _borrow(model / "graph", folder / "graph", but=GRAMMAR.name)
        (folder / GRAMMAR).write_bytes(grammar_bytes(language, vocabulary))
        yield folder


def _borrow(source: Path, target: Path, but: str) -> None:
    """Links, or copies where there are no links."""
    for part in source.iterdir():
        if part.name == but:
            continue
        try:
            os.symlink(part.resolve(), target / part.name, target_is_directory=part.is_dir())
        except OSError:
            copy = shutil.copytree if part.is_dir() else shutil.copyfile
            copy(part, target / part.name)

"""How does the model get from sounds to words?

A prefix tree of the lexicon, written directly: entering and staying in each phone, the word at
the end of its path, silence between words if there is any. `[unk]` is a loop over all phones, at
least two of them, each at a cost: whatever nobody planned for ends there and not in a command.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from assistant.forge import openfst, phones
from assistant.forge.openfst import Arc

UNKNOWN = "[unk]"
Lexicon = Mapping[str, Sequence[tuple[str, ...]]]


@dataclass(frozen=True, slots=True)
class GraphSettings:
    """The choices that are measured, not derived (see CARD.md for the curves)."""

    silence_at_start: float = 0.95
    silence_between: float = 0.15
    unknown_cost: float = 3.0  # nats for every phone of the filler
    shortest_unknown: int = 2  # phones


@dataclass(slots=True)
class Tree:
    """The growing graph: numbered states and the arcs between them."""

    arcs: list[Arc] = field(default_factory=list)
    states: int = 0
    nodes: dict[tuple[int, ...], int] = field(default_factory=dict)

    def state(self) -> int:
        self.states += 1
        return self.states - 1

    def arc(
        self, source: int, target: int, heard: int = 0, word: int = 0, cost: float = 0.0
    ) -> None:
        self.arcs.append(Arc(source, target, heard, word, cost))

    def sound(self, source: int, phone: int, cost: float = 0.0) -> int:
        """A new state in which one phone lasts."""
        state = self.state()
        self.arc(source, state, phones.enter_transition(phone), cost=cost)
        self.arc(state, state, phones.stay_transition(phone))
        return state

    def walk(self, root: int, path: Sequence[int]) -> int:
        """The state at the end of a path of phones; shared beginnings are shared states."""
        state = root
        for length in range(1, len(path) + 1):
            key = tuple(path[:length])
            if key not in self.nodes:
                self.nodes[key] = self.sound(state, path[length - 1])
            state = self.nodes[key]
        return state


def build_tree(lexicon: Lexicon, numbers: Mapping[str, int], settings: GraphSettings) -> Tree:
    """The whole graph; states 0 to 3 are start, root, silence and the end of a word."""
    tree = Tree()
    start, root, silence, word_end = (tree.state() for _ in range(4))
    for source, likely in (
        (start, settings.silence_at_start),
        (word_end, settings.silence_between),
    ):
        tree.arc(source, root, cost=-math.log(1 - likely))
        enter = phones.enter_transition(phones.SILENCE)
        tree.arc(source, silence, enter, cost=-math.log(likely))
    tree.arc(silence, silence, phones.stay_transition(phones.SILENCE))
    tree.arc(silence, root)
    add_unknown(tree, root, word_end, numbers[UNKNOWN], settings)
    for word in sorted(lexicon):
        for path in {phones.phone_ids(said) for said in lexicon[word]}:
            tree.arc(tree.walk(root, path), word_end, word=numbers[word])
    return tree


def add_unknown(tree: Tree, root: int, word_end: int, number: int, settings: GraphSettings) -> None:
    """Any string of phones, long enough and dear enough, is `[unk]`; so is spoken noise."""
    tree.arc(tree.walk(root, (phones.SPOKEN_NOISE,)), word_end, word=number)
    speech = range(phones.SPOKEN_NOISE + 1, phones.PHONE_COUNT + 1)
    hub = root
    for _ in range(settings.shortest_unknown - 1):
        onward = tree.state()
        for phone in speech:
            tree.arc(tree.sound(hub, phone, settings.unknown_cost), onward)
        hub = onward
    loop = tree.state()
    for phone in speech:
        tree.arc(tree.sound(hub, phone, settings.unknown_cost), loop)
    tree.arc(loop, hub)
    tree.arc(loop, word_end, word=number)


def write_graph(lexicon: Lexicon, target: Path, settings: GraphSettings | None = None) -> int:
    """Write HCLr.fst, Gr.fst and the marker file into `target`; returns the number of arcs."""
    openfst.require_tools()
    target.mkdir(parents=True, exist_ok=True)
    numbers = {UNKNOWN: 1} | {word: n for n, word in enumerate(sorted(lexicon), start=2)}
    tree = build_tree(lexicon, numbers, settings or GraphSettings())
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        openfst.write_text(work / "hcl.txt", tree.arcs, finals=(1, 2, 3))
        relabelled = openfst.lookahead(work / "hcl.txt", target / "HCLr.fst", work / "relabel")
        write_grammar(work, target, {word: relabelled[number] for word, number in numbers.items()})
    (target / "disambig_tid.int").write_text(f"{2 * phones.PHONE_COUNT + 1}\n")
    return len(tree.arcs)


def write_grammar(work: Path, target: Path, numbers: Mapping[str, int]) -> None:
    """A loop over a few words: Vosk replaces it at run time and keeps only its word list."""
    symbols = ["<eps> 0", *(f"{w} {n}" for w, n in sorted(numbers.items(), key=lambda p: p[1]))]
    (work / "words.txt").write_text("\n".join(symbols) + "\n", encoding="utf-8")
    loop = [w for w in ("yes", "no", "one", "two", UNKNOWN) if w in numbers]
    lines = [f"0 0 {numbers[w]} {w} 2.0" for w in loop]
    (work / "g.txt").write_text("\n".join([*lines, "0"]) + "\n", encoding="utf-8")
    openfst.word_loop(work / "g.txt", work / "words.txt", target / "Gr.fst")

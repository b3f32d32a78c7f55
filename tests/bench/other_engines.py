"""How do other recognisers hear the clips that `python -m assistant.forge evaluate` hears?

    python -m tests.bench.other_engines pocketsphinx CORPUS.jsonl --limit 800 --lines 35

Needs the extra `forge` and, for the others, which are no dependencies of this project,
`pip install pocketsphinx==5.1.1 soundswallower==0.6.7 hama==1.7.0`. The same clips in the same
noise and hiss, scored in the same way. Two of the others get the lines as a JSGF grammar, which has
no way out into talk, hama as a list to choose from (ctc_engine.py); each gets a clip in one piece;
settings, sounds and dictionary are those they come with; only for words that the two lack are ours
taken. `ours` is the session's way, as the forge evaluates; `ours-bare` gets what they get, whole
clips and no way into talk.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from typing import Any

from assistant.core.language import TALK, Language, language_of_lines
from assistant.edges.recogniser import RATE, Model, bundled_model
from assistant.forge import evaluate
from assistant.forge.corpus import read_samples
from assistant.forge.lexicon import Lexicon

RATIOS = (None, 12.0, 6.0)  # speech over noise in dB; none added
# Inside each package: its sounds, its dictionary.
PARTS = {
    "pocketsphinx": ("en-us/en-us", "en-us/cmudict-en-us.dict"),
    "soundswallower": ("en-us", "en-us/dict.txt"),
}


def jsgf(lines: Sequence[str]) -> str:
    """A grammar of exactly these lines, all equally likely."""
    return f"#JSGF V1.0;\ngrammar lines;\npublic <line> = {' | '.join(lines)} ;\n"


def dictionary(theirs: str, words: set[str]) -> str:
    """Their entries for these words, and ours for those that they lack."""
    found = [entry for entry in theirs.splitlines() if word_of(entry) in words]
    lacking = sorted(words - {word_of(entry) for entry in found})
    if lacking:
        print(f"sounds of ours for: {' '.join(lacking)}", file=sys.stderr)
        found += ours(lacking)
    return "\n".join(found) + "\n"


def word_of(entry: str) -> str:
    """Of a line `word PH ON ES` or `word(2) PH ON ES`; "" of a line without one."""
    return entry.split()[0].partition("(")[0] if entry.strip() else ""


def ours(words: Sequence[str]) -> Iterator[str]:
    """Entries by our lexicon; they know no AX, and write AH for it."""
    lexicon = Lexicon()
    for word in words:
        ways = dict.fromkeys(" ".join(way).replace("AX", "AH") for way in lexicon.ways(word))
        if not ways:
            raise SystemExit(f"no sounds known for '{word}'")
        for number, way in enumerate(ways, start=1):
            yield f"{word} {way}" if number == 1 else f"{word}({number}) {way}"


def other_ear(name: str, lines: Sequence[str]) -> evaluate.Ear:
    """Hears these lines with another engine, a clip at a time."""
    engine = package(name)
    sounds, entries = (Path(engine.get_model_path()) / part for part in PARTS[name])
    words = {word for line in lines for word in line.split()}
    with TemporaryDirectory() as place:
        written, grammar = Path(place) / "words.dict", Path(place) / "lines.jsgf"
        written.write_text(dictionary(entries.read_text(encoding="utf-8"), words), encoding="utf-8")
        grammar.write_text(jsgf(lines), encoding="utf-8")
        decoder = engine.Decoder(
            hmm=str(sounds), dict=str(written), jsgf=str(grammar), samprate=RATE, loglevel="FATAL"
        )

    def heard(sound: bytes) -> str:
        decoder.start_utt()
        decoder.process_raw(sound, no_search=False, full_utt=True)
        decoder.end_utt()
        return text_of(decoder.hyp)

    return heard


def ctc_ear(lines: Sequence[str]) -> evaluate.Ear:
    """Chooses among these lines by how likely their sounds are."""
    package("hama")
    from tests.bench import ctc_engine  # needs PyTorch, as the extra `forge` does

    return ctc_engine.ear(lines)


def text_of(guess: Any) -> str:
    """Of the best guess; one engine has it as a method, the other as a value."""
    guess = guess() if callable(guess) else guess
    if guess is None:
        return ""
    return str(guess.hypstr if hasattr(guess, "hypstr") else guess.text).strip()


def package(name: str) -> ModuleType:
    """The engine, if somebody has installed it."""
    try:
        return import_module(name)
    except ImportError as error:
        raise SystemExit(
            f"{name} is not here, and is no dependency: pip install {name} (see the docstring)"
        ) from error


def bare_ear(model: Model, language: Language) -> evaluate.Ear:
    """Hears whole clips with our model, and has no way out into talk."""
    arcs = tuple(arc for arc in language.arcs if TALK not in (arc.source, arc.target))
    lines = replace(language, arcs=arcs, ends=tuple(e for e in language.ends if e[0] != TALK))

    def heard(sound: bytes) -> str:
        recogniser = model.recogniser(lines)
        ended = recogniser.AcceptWaveform(sound)
        return evaluate.best(recogniser.Result() if ended else recogniser.FinalResult())

    return heard


def ears(model: Model) -> dict[str, Callable[[Sequence[str]], evaluate.Ear]]:
    """By name: what hears given lines."""
    others = {name: lambda lines, name=name: other_ear(name, lines) for name in PARTS}
    return {
        "ours": lambda lines: evaluate.ear_of(model, language_of_lines(lines)),
        "ours-bare": lambda lines: bare_ear(model, language_of_lines(lines)),
        **others,
        "hama": ctc_ear,
    }


def main() -> None:
    """One line for each ratio."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("engine", choices=("ours", "ours-bare", *PARTS, "hama"))
    parser.add_argument("corpus", type=Path, help="an index file: NAME.jsonl with NAME.raw beside")
    parser.add_argument("--model", type=Path, default=bundled_model())
    parser.add_argument("--split", default="test")
    parser.add_argument("--limit", type=int, default=500, help="clips")
    parser.add_argument("--lines", type=int, default=60, help="different lines in the grammar")
    asked = parser.parse_args()
    model = Model(asked.model)
    clips = evaluate.choose(asked.corpus, asked.split, asked.limit, asked.lines)
    clips = evaluate.sayable(clips, model)
    lines = sorted({clip.text for clip in clips})
    ear = ears(model)[asked.engine](lines)
    samples = read_samples(asked.corpus)
    for ratio in RATIOS:
        score = evaluate.score(ear, clips, samples, ratio, lines)
        name = "no noise added" if ratio is None else f"{ratio:g} dB"
        print(f"{asked.engine}, {asked.corpus.stem}, {name}: {score.line()}", flush=True)


if __name__ == "__main__":
    main()

"""What does each stage of the forge do when it is called from the command line?"""

from __future__ import annotations

import argparse
import logging
import re
from pathlib import Path

from assistant.errors import ConfigError
from assistant.forge import graph as graphs
from assistant.forge import lexicon as lexicons

log = logging.getLogger("forge")
ROOT = Path(__file__).parents[2]
OWN_WORDS = (ROOT / "assistant" / "words", ROOT / "recipes")
CHAIRS = 4  # as many as a session has by itself
COMMAND_WORDS = Path(__file__).with_name("command_words.txt")
SALON_WORDS = "words_added.txt"  # inside a model folder: what this salon taught it


def graph(options: argparse.Namespace) -> None:
    """Rebuild HCLr.fst and Gr.fst from the dictionaries, the own word files and added words."""
    settings = graphs.GraphSettings()
    if options.unknown_cost is not None:
        settings = graphs.GraphSettings(unknown_cost=options.unknown_cost)
    write_graph(options.model, settings)


def write_graph(model: Path, settings: graphs.GraphSettings, only: set[str] | None = None) -> int:
    """The words of a model, or only some of them; the number of words."""
    extra = COMMAND_WORDS.read_text(encoding="utf-8").split()
    words = lexicons.build(OWN_WORDS, extra)
    check_known(words, extra)
    if only is not None:
        words = {word: ways for word, ways in words.items() if word in only}
    for word, ways in added_words(model).items():
        words[word] = (*words.get(word, ()), *ways)
    arcs = graphs.write_graph(words, model / "graph", settings)
    log.info("%d words, %d arcs in %s", len(words), arcs, model / "graph")
    return len(words)


def build(options: argparse.Namespace) -> None:
    """All stages, from fetching the parts to the figures."""
    from assistant.forge import build as builds  # needs the forge extra

    minutes = 0.05 if options.smoke else options.minutes
    order = builds.Order(
        options.folder, minutes, options.device, options.people, options.start,
        options.smoke, options.seed, options.processes, options.learners,
        options.bottleneck,
    )  # fmt: skip
    builds.run(order, options.until)


def check_known(words: dict[str, lexicons.Pronunciations], extra: list[str]) -> None:
    """Command words must be known; other words of recipes (sources, notes) are only named."""
    commands = ROOT / "assistant" / "words" / "commands.yaml"
    text = commands.read_text(encoding="utf-8").lower() if commands.exists() else ""
    absent = lexicons.missing(words, OWN_WORDS)
    needed = [w for w in absent if re.search(rf"\b{w}\b", text)]
    needed += [w for w in extra if w not in words]
    if needed:
        raise ConfigError(f"no sounds known for: {', '.join(needed)}; add to trade_words.txt")
    if absent:
        log.info("not in the model (add to trade_words.txt if it is ever said): %s", absent)


def added_words(model: Path) -> dict[str, lexicons.Pronunciations]:
    """Words taught with addword; they survive a rebuild."""
    path = model / SALON_WORDS
    return lexicons.read_trade_words(path)[0] if path.exists() else {}


def add_word(options: argparse.Namespace) -> None:
    """Write the word down beside the model, then rebuild its graph."""
    word = options.word.lower()
    if not re.fullmatch(lexicons.WORD, word):
        raise ConfigError(f"'{word}' is not one plain English word: letters only")
    lexicons.check_sounds(word, options.sounds)
    with (options.model / SALON_WORDS).open("a", encoding="utf-8") as file:
        file.write(f"{word}: {options.sounds}\n")
    graph(argparse.Namespace(model=options.model, unknown_cost=None))


def evaluate(options: argparse.Namespace) -> None:
    """The table of one corpus file: clean, then 12 and 6 dB over dryer noise."""
    from assistant.forge import evaluate as evaluation

    ratios = (None, 12.0, 6.0)
    wanted = (options.model, options.corpus, options.split, ratios, options.limit, options.lines)
    for ratio, score in evaluation.table(*wanted):
        log.info("%s: %s", "clean" if ratio is None else f"{ratio:g} dB", score.line())


def fixtures(options: argparse.Namespace) -> None:
    """Make the recordings that are missing."""
    from assistant.forge import fixtures as recordings  # needs the forge extra

    recordings.make(options.folder, options.only, options.fresh, options.turns)


def wake(options: argparse.Namespace) -> None:
    """The table of wake words: missed by voices held out."""
    from assistant.core.session_names import names_of
    from assistant.edges import recipe_files, word_files
    from assistant.edges.recogniser import Model
    from assistant.forge import wake as wakes  # needs the forge extra

    recipes, _ = recipe_files.load_all(None)
    words = word_files.load_commands()
    names = names_of(words, recipes, CHAIRS)
    model = Model(options.model)
    log.info("| %s |", " | ".join(wakes.heading()))
    for row in wakes.table(options.words or wakes.CANDIDATES, model, words, names):
        log.info("| %s |", " | ".join(row.cells()))

"""What happened in a kept session? Its journal folded once more, with what was said and heard."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from assistant.core.events import Heard, Say
from assistant.core.head import Head
from assistant.core.intents import UNKNOWN, Words
from assistant.core.phrases import Phrases
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.timeline import HeardMark, SaidMark, Timeline, timeline
from assistant.edges import journal, recipe_files, session_folder


@dataclass(frozen=True, slots=True)
class Retold:
    """A session as its journal tells it."""

    began_utc: float
    heads: tuple[Head, ...]
    said: tuple[SaidMark, ...]
    heard: tuple[HeardMark, ...]

    def timeline_of(self, head: Head) -> Timeline:
        """One head, with what was said about it and everything heard meanwhile."""
        ends = head.file.ended_at
        times = [*(mark.at for mark in self.said), *(mark.at for mark in self.heard)]
        end = max(times, default=0.0) if ends is None else ends
        said = [mark for mark in self.said if mark.chair == head.chair]
        heard = [mark for mark in self.heard if head.file.opened_at <= mark.at <= end]
        title = f"Chair {head.chair}: {head.recipe.name}"
        return timeline(title, [head], end, said, heard)


def retold(path: Path, words: Words, phrases: Phrases, rule: SalonRule) -> Retold:
    """The session of a journal; `ConfigError` if it has no beginning."""
    records, _ = journal.read(path)
    start = session_folder.started_with(records)
    recipes, _ = recipe_files.from_texts(start.recipes)
    salon = Salon(words, recipes, start.chairs, rule)
    said: list[SaidMark] = []
    heard: list[HeardMark] = []
    for record in records:
        event = record.event
        for effect in salon.step(event):
            if isinstance(effect, Say):
                text = phrases.sentence(effect)
                said.append(SaidMark(event.at, effect.chair, effect.priority, text))
        if isinstance(event, Heard) and event.text:
            heard.append(HeardMark(event.at, None, event.text, UNKNOWN not in event.text))
    return Retold(start.utc, tuple(salon.history), tuple(said), tuple(heard))

"""Builds and connects every part: the only file that knows them all."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.core.events import Say
from assistant.core.intents import Names, Words
from assistant.core.intents import every_word as every_word
from assistant.core.phrases import Phrases
from assistant.core.recipe import Recipe
from assistant.core.rule import SalonRule
from assistant.core.salon import Salon
from assistant.core.script import Script
from assistant.core.session_names import names_of
from assistant.edges import (
    earlier_visits,
    kept_lessons,
    recipe_files,
    session_folder,
    tones,
    word_files,
)
from assistant.edges.clock import SystemClock, VirtualClock
from assistant.edges.ears import Ears
from assistant.edges.gate import Gate
from assistant.edges.hearing import RecordedHearing, TypedHearing
from assistant.edges.journal import Journal
from assistant.edges.journal_lines import Record
from assistant.edges.kept_records import KeptRecords
from assistant.edges.microphone import Microphone
from assistant.edges.recogniser import Model, bundled_model
from assistant.edges.record_lock import Key
from assistant.edges.renderer import Rendered, Renderer
from assistant.edges.settings_file import Settings
from assistant.edges.sound_card import Card
from assistant.edges.voice import Voice
from assistant.edges.wav_files import Sound
from assistant.errors import ConfigError
from assistant.hub import Hub
from assistant.live import Live, Parts, Post, Taught
from assistant.rehearsal import Hearing, Rehearsal, Stage


@dataclass(frozen=True, slots=True)
class Book:
    """Everything read from files before a session: words, phrases, recipes."""

    words: Words
    phrases: Phrases
    recipes: dict[str, Recipe]
    texts: tuple[tuple[str, str], ...]

    def names(self, chairs: int) -> Names:
        """The closed sets of a session with so many chairs."""
        return names_of(self.words, self.recipes, chairs)


def read_book(recipes: Path | None = None) -> Book:
    """Read words, phrases and recipes; `ConfigError` lists every problem."""
    loaded, texts = recipe_files.load_all(recipes)
    return Book(word_files.load_commands(), word_files.load_phrases(), loaded, texts)


def load_model(folder: Path | None, book: Book, chairs: int) -> Model:
    """The speech model, checked: every word we listen for must be in its vocabulary."""
    model = Model(folder or bundled_model())
    unknown = model.unknown(sorted(every_word(book.words, book.names(chairs))))
    if unknown:
        raise ConfigError(
            f"{model.folder}: the speech model does not know: {', '.join(unknown)}. "
            "Use other words in assistant/words/commands.yaml or the recipes, or add them to the "
            "model (DEVELOPERS.md, 'Add a word')"
        )
    return model


def recorded_hearing(book: Book, model: Model, chairs: int) -> RecordedHearing:
    """Hears the shipped recordings."""
    return RecordedHearing(model, book.words, book.names(chairs))


def typed_hearing(book: Book) -> TypedHearing:
    """Takes the script's words as heard."""
    return TypedHearing(book.words)


def rehearsal(
    script: Script,
    book: Book,
    hearing: Hearing,
    seconds_of: Callable[[Say, str], float],
    folder: Path,
    *,
    clock: Callable[[], VirtualClock] = VirtualClock,
    built: Callable[[Hub, VirtualClock], None] = lambda hub, clock: None,
) -> Rehearsal:
    """A rehearsal of a script into a folder. `built` is shown every hub, for a board."""
    store = folder / session_folder.STORE
    stage = Stage(
        words=book.words,
        phrases=book.phrases,
        recipes=book.recipes,
        recipe_texts=book.texts,
        rule=SalonRule(),
        hearing=hearing,
        seconds_of=seconds_of,
        records=KeptRecords(folder / "records", store, earlier_visits.REHEARSAL, time.time),
        begin=lambda: earlier_visits.put(script, book.recipes, store, time.time()),
        clock=clock,
        built=built,
    )
    return Rehearsal(script, stage, folder)


class GuessedVoice:
    """No sound out: sentence lengths guessed from their words."""

    def seconds_of(self, say: Say, text: str) -> float:
        """Tone and words."""
        words = 0.3 + 0.36 * len(text.split()) if text else 0.0
        return tones.seconds(say.priority) + words


class RenderedVoice:
    """Real sentences by pyttsx3; keeps their sounds for the session's WAV."""

    def __init__(self) -> None:
        """Start the renderer; `DeviceError` if there is no speech here."""
        self._renderer = Renderer()

    def seconds_of(self, say: Say, text: str) -> float:
        """Tone and words, as they sound."""
        return tones.seconds(say.priority) + (self.sound(text).seconds if text else 0.0)

    def sound(self, text: str) -> Sound:
        """The sound of a sentence."""
        return self._renderer.render(text)


def voice_of(*, silent: bool) -> GuessedVoice | RenderedVoice:
    """How sentences are turned into sound, or only into seconds."""
    return GuessedVoice() if silent else RenderedVoice()


@dataclass(frozen=True, slots=True)
class Chair:
    """Everything that a live session is built from, besides the book."""

    model: Model
    card: Card
    render: Callable[[str], Rendered]
    settings: Settings
    clock: SystemClock | VirtualClock
    key: Key | None = None  # of a locked record store


def live_book(settings: Settings, recipes: Path | None = None) -> Book:
    """The book with the salon's own wake word; `ConfigError` if that is said otherwise too."""
    book = read_book(recipes)
    wake = settings.wake_word
    if not wake or wake == book.words.wake:
        return book
    commands = every_word(book.words, book.names(settings.chairs))
    said = set(re.findall("[a-z']+", " ".join(book.phrases.phrases.values()).lower()))
    if wake in commands | said:
        raise ConfigError(
            f"settings: the wake word {wake!r} is also a word that is said: "
            f"choose one that is not, such as {book.words.wake}"
        )
    return replace(book, words=replace(book.words, wake=wake))


def fixed_phrases(book: Book) -> tuple[str, ...]:
    """The sentences that are always the same: made before they are needed."""
    return tuple(text for text in book.phrases.phrases.values() if "{" not in text)


def live_session(chair: Chair, book: Book, folder: Path, resume: Path | None = None) -> Live:
    """A session ready to run: new in `folder`, or gone on with from a journal.

    A journal stands alone: the recipes it began with are the ones it goes on with.
    """
    clock, settings = chair.clock, chair.settings
    records: tuple[Record, ...] = ()
    if resume is None:
        journal = Journal.create(folder, clock.moment)
        chairs, texts, recipes = settings.chairs, book.texts, book.recipes
    else:
        journal, records, _ = Journal.open(resume, clock.moment)
        start = session_folder.started_with(records)
        chairs, texts = start.chairs, start.recipes
        recipes, _ = recipe_files.from_texts(texts)
    post, gate = Post(clock.now), Gate(headset=settings.headset)
    names = names_of(book.words, recipes, chairs)
    ears = Ears(chair.model, book.words, names, gate, post)
    voice = Voice(
        chair.card,
        settings.loudspeaker,
        chair.render,
        gate,
        now=clock.now,
        tell=post,
        user_speaks=lambda: ears.hearing,
        noise=lambda: ears.noise,
    )
    post.hub = Hub(
        Salon(book.words, recipes, chairs, settings.rule),
        book.phrases,
        clock=clock,
        journal=journal,
        voice=voice,
        ears=ears,
        records=KeptRecords(
            session_folder.sheets_beside(journal.path),
            session_folder.store_of(journal.path),
            session_folder.name_of(journal.path),
            time.time,
            chair.key,
        ),
    )
    microphone = Microphone(chair.card, settings.microphone, clock.now, post)
    parts = Parts(clock, post.hub, journal, microphone, ears, voice)
    taught = _taught(settings.trainee, journal.path, chair.key)
    return Live(parts, chairs, texts, records, taught)


def _taught(trainee: str, journal: Path, key: Key | None) -> Taught:
    """The levels of a trainee, from the salon's records."""
    store = session_folder.store_of(journal)
    return Taught(trainee, kept_lessons.levels(store, trainee, time.time, key))

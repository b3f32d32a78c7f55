"""What a rehearsal leaves behind: session WAV, timeline picture, a trainee's debrief."""

from __future__ import annotations

import time
from array import array
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from assistant.core.numbers import spoken
from assistant.core.phrases import Phrases
from assistant.core.script import Script
from assistant.core.timeline import Happening, HeardMark, SaidMark, Timeline, timeline
from assistant.edges import debrief_page, kept_lessons, session_sound, wav_files
from assistant.edges.hearing import RecordedHearing
from assistant.edges.session_sound import Piece, Studio
from assistant.edges.wav_files import Sound
from assistant.rehearsal import Hearing, Played


def session_wav(
    played: Played,
    hearing: Hearing,
    sound_of: Callable[[str], Sound],
    path: Path,
    *,
    full_length: bool,
) -> float:
    """Write everything heard and said as one WAV; its length in seconds."""
    studio = Studio()
    pieces = [*_heard_pieces(played, hearing, studio), *_said_pieces(played, sound_of, studio)]
    mixed = session_sound.mix(pieces, played.ended_at, full_length=full_length)
    wav_files.write(path, mixed.sound)
    return mixed.sound.seconds


def timeline_of(script: Script, played: Played) -> Timeline:
    """The marks of a picture."""
    chairs = {head.chair for head in played.salon.history}
    said = [SaidMark(s.starts_at, s.say.chair, s.say.priority, s.text) for s in played.spoken]
    heard = [
        HeardMark(h.at, _chair_named(h.text, chairs), h.text, bool(h.text)) for h in played.heard
    ]
    happened = [Happening(line.at.seconds, line.happens) for line in script.lines if line.happens]
    return timeline(script.title, played.salon.history, played.ended_at, said, heard, happened)


def debrief_html(script: Script, played: Played, phrases: Phrases, folder: Path) -> Path:
    """Write the debrief of every finished service; with no record the rehearsal's own date."""
    marks = timeline_of(script, played)
    kept = kept_lessons.lessons(folder / "records.db", script.trainee, time.time)
    started = played.salon.started
    utc = kept[-1].utc if kept else started.utc if started is not None else 0.0
    over = [head for head in played.salon.history if not head.active]
    learned = script.runs(utc)
    sheets = [debrief_page.sheet_of(head, marks, phrases, kept, learned) for head in over]
    debrief_page.save(sheets, utc, folder / "debrief.html")
    return folder / "debrief.html"


def _chair_named(text: str, chairs: Iterable[int]) -> int | None:
    """The chair whose name was heard; None is the room."""
    named = (c for c in sorted(chairs, reverse=True) if f"chair {spoken(c)} " in f"{text} ")
    return next(named, None)  # the highest first: "chair twenty" is also in "chair twenty one"


def _heard_pieces(played: Played, hearing: Hearing, studio: Studio) -> Iterator[Piece]:
    if isinstance(hearing, RecordedHearing):
        for heard in played.heard:
            yield studio.heard(heard.line.at.seconds, hearing.sound(heard.line))


def _said_pieces(
    played: Played, sound_of: Callable[[str], Sound], studio: Studio
) -> Iterator[Piece]:
    for sentence in played.spoken:
        words = sound_of(sentence.text) if sentence.text else Sound(session_sound.RATE, array("h"))
        yield studio.said(sentence.starts_at, sentence.say.priority, words, sentence.seconds)

"""How well are the shipped recordings understood? Rights, questions, rejections, wrong acts.

Every recording goes through the same recogniser and the same whole-phrase understanding as a
service. The voices are synthetic and the noise is synthesised: the tables steer the work, they do
not say how well a person is understood. Needs nothing beyond the base install.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from assistant.core.events import Mode
from assistant.core.guesses import asked_anyway
from assistant.core.intents import Intent, Understood, understand
from assistant.edges import wav_files
from assistant.edges.hearing import RecordedHearing
from assistant.edges.recogniser import RATE
from assistant.edges.recordings import (
    CLEAN,
    ROLES,
    Recording,
    spoken_words,
)

Outcome = Literal["exact", "asked", "rejected", "wrong", "not a command now"]
KINDS: tuple[Outcome, ...] = ("exact", "asked", "rejected", "wrong")
MODES: tuple[Mode, ...] = get_args(Mode)
WIDTH = 26


@dataclass(frozen=True, slots=True)
class Heard:
    """One recording as it was understood in one mode; delay counts from the end of the speech."""

    recording: Recording
    mode: Mode
    text: str
    outcome: Outcome
    delay: float | None


@dataclass(frozen=True, slots=True)
class Hearing:
    """Everything heard, and how fast."""

    commands: tuple[Heard, ...]
    others: tuple[Heard, ...]
    real_time_factor: float


def hear_all(hearing: RecordedHearing, recordings: Iterable[Recording], folder: Path) -> Hearing:
    """Decode commands in their own mode, and everything else in every mode."""
    commands, others = [], []
    for recording in recordings:
        sound = wav_files.read(folder / recording.file, rate=RATE)
        mode = _mode_of(recording, hearing)
        if recording.set == "commands" or (recording.set == "rehearsal" and mode):
            commands.append(_hear(hearing, sound, recording, mode or "open"))
        else:
            others += [_hear(hearing, sound, recording, each) for each in MODES]
    return Hearing(tuple(commands), tuple(others), hearing.worked.real_time_factor)


def _understood(hearing: RecordedHearing, text: str, mode: Mode) -> Understood:
    return understand(text, hearing.words, hearing.names, mode, woken=False)


def _mode_of(recording: Recording, hearing: RecordedHearing) -> Mode | None:
    """The first mode in which the line is a command; with the wake word that is "open"."""
    said = spoken_words(recording.text)
    for mode in MODES:
        if isinstance(_understood(hearing, said, mode), Intent):
            return mode
    return None


def _hear(
    hearing: RecordedHearing, sound: wav_files.Sound, recording: Recording, mode: Mode
) -> Heard:
    utterance = hearing.hear_sound(sound, mode)
    meant = _understood(hearing, spoken_words(recording.text), mode)
    got = _understood(hearing, utterance.text, mode)
    end = recording.speech_end
    delay = None if end is None else utterance.known_after / RATE - end
    return Heard(recording, mode, utterance.text, _outcome(recording, meant, got), delay)


def _outcome(recording: Recording, meant: Understood, got: Understood) -> Outcome:
    if recording.set == "commands" and not isinstance(meant, Intent):
        return "not a command now"
    if not isinstance(got, Intent):
        return "rejected"
    if isinstance(meant, Intent) and asked_anyway(meant, got):
        return "asked"
    return "exact" if got == meant else "wrong"


def table(result: Hearing) -> list[str]:
    """The whole report, line by line."""
    # The lines of a rehearsal were chosen to be rehearsed, so they stay out of the figures below.
    free = [one for one in result.commands if one.recording.set == "commands"]
    lines = ["Synthetic voices, synthesised noise and rooms (see audio_fixtures/README.md).", ""]
    lines += _block("set", result.commands, lambda r: r.set)
    lines += ["Set commands alone:", ""]
    lines += _block("noise", free, lambda r: r.noise)
    lines += _block("SNR", free, _level)
    lines += _block("noise and SNR", free, _scene)
    lines += _block("synthesiser", free, _synthesiser)
    lines += _block("voice", free, _voice)
    lines += [*_delays(result.commands), ""]
    lines += [*_taken(result.others), ""]
    lines.append(f"real-time factor of recognition (one core): {result.real_time_factor:.3f}")
    return lines


def misses(result: Hearing) -> Iterator[str]:
    """Every command that was not understood exactly, and every other line that became one."""
    for heard in result.commands:
        if heard.outcome != "exact":
            yield f'{heard.outcome}: {heard.recording.file}: heard "{heard.text}"'
    for heard in result.others:
        if heard.outcome == "wrong":
            yield f'taken for a command ({heard.mode}): {heard.recording.file}: "{heard.text}"'


def _level(recording: Recording) -> str:
    return CLEAN if recording.snr_db is None else f"{recording.snr_db:g} dB"


def _scene(recording: Recording) -> str:
    return CLEAN if recording.snr_db is None else f"{recording.noise} {_level(recording)}"


def _synthesiser(recording: Recording) -> str:
    """The old ones (flite, espeak) sound least like a person."""
    maker = recording.voice.split("_")[0]
    return maker if maker in ("flite", "espeak") else "kokoro"


def _voice(recording: Recording) -> str:
    role = next((role for role, voice in ROLES.items() if voice == recording.voice), "")
    return f"{recording.voice} ({role})" if role else recording.voice


def _block(
    title: str, heard: Sequence[Heard], group_of: Callable[[Recording], str]
) -> Iterator[str]:
    yield f"{'by ' + title:<{WIDTH}}{'n':>6}{'exact':>9}{'asked':>9}{'rejected':>10}{'wrong':>8}"
    groups: dict[str, list[Heard]] = {}
    for one in heard:
        groups.setdefault(group_of(one.recording), []).append(one)
    for name in sorted(groups, key=_natural):
        yield _row(name, groups[name])
    yield _row("all", heard)
    yield ""


def _natural(name: str) -> tuple[bool, str, float]:
    """Clean first, then the easy levels before the hard ones."""
    digits = "".join(c for c in name if c.isdigit()) if name.endswith("dB") else ""
    word = name.split()[0]
    return (name.split()[0] != CLEAN, "" if word.isdigit() else word, -float(digits or 0))


def _row(name: str, heard: Sequence[Heard]) -> str:
    asked = [one for one in heard if one.outcome != "not a command now"]
    counts = [sum(one.outcome == kind for one in asked) for kind in KINDS]
    shares = [f"{100 * count / len(asked):.1f} %" if asked else "-" for count in counts]
    row = f"{name:<{WIDTH}}{len(asked):>6}{shares[0]:>9}{shares[1]:>9}{shares[2]:>10}{shares[3]:>8}"
    skipped = len(heard) - len(asked)
    return f"{row}  ({skipped} no longer commands: make the recordings again)" if skipped else row


def _delays(heard: Sequence[Heard]) -> Iterator[str]:
    """From the end of the speech to the moment the command was known, exact ones only."""
    delays = sorted(one.delay for one in heard if one.delay is not None and one.outcome == "exact")
    if not delays:
        yield "delay: nothing was understood"
        return
    within = [
        one for one in heard
        if one.outcome == "exact" and one.delay is not None
        and one.recording.speech_end is not None
        and one.delay > one.recording.seconds - one.recording.speech_end
    ]  # fmt: skip
    middle, late = delays[len(delays) // 2], delays[min(len(delays) - 1, len(delays) * 95 // 100)]
    yield (
        f"end of speech to result, {len(delays)} exact commands, 0.1 s blocks: "
        f"median {middle * 1000:.0f} ms, 95 % within {late * 1000:.0f} ms"
    )
    yield f"of these, ended only in the quiet after the recording: {len(within)}"


def _taken(others: Sequence[Heard]) -> Iterator[str]:
    """Small talk, near misses and noise that became a command, per listening mode."""
    for noise_alone, title in ((False, "lines that are no command"), (True, "noise alone")):
        chosen = [one for one in others if (one.recording.set == "noise") == noise_alone]
        clips = {one.recording.file: one.recording.seconds for one in chosen}
        yield f"{title}: {len(clips)} recordings, {sum(clips.values()) / 60:.1f} min in each mode"
        for mode in MODES:
            in_mode = [one for one in chosen if one.mode == mode]
            wrong = sum(one.outcome == "wrong" for one in in_mode)
            yield f"  {mode:<{WIDTH - 2}}taken for a command: {wrong} of {len(in_mode)}"

"""What may be heard: any words in any mode, and what they are taken for."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import get_args

from assistant.core.endings import Attention
from assistant.core.events import Mode
from assistant.core.intents import Chatter, Intent, Unclear, understand
from assistant.edges.word_files import load_commands
from tests.fuzz.talks import names, said

MODES: tuple[Mode, ...] = get_args(Mode)


def words(data: bytes) -> None:
    """Any text in any mode: understood, unclear or chatter; without the wake word no command."""
    if not data:
        return
    mode, woken = MODES[data[0] % len(MODES)], bool(data[0] & 128)
    text = data[1:].decode("utf-8", "replace")
    told, known = load_commands(), names()
    meant = understand(text, told, known, mode, woken)
    if not isinstance(meant, Intent | Unclear | Chatter):
        raise AssertionError(f"{meant!r} is no meaning")
    if isinstance(meant, Intent) and mode == "open" and not woken and told.wake not in text:
        raise AssertionError(f"{text!r} without the wake word is taken as {meant}")
    attention = Attention(told, known, mode, woken)
    if attention.is_complete(text) and not isinstance(meant, Intent):
        raise AssertionError(f"{text!r} is complete, but nothing")
    attention.is_address(text)
    attention.is_unfinished(text)


def seeds() -> Iterator[bytes]:
    """A sentence of every command, the modes in turn."""
    for nth, command in enumerate(load_commands().commands):
        yield bytes([nth % len(MODES)]) + said(command.phrases[0], Random(nth)).encode()

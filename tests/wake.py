"""The wake word, as the words file has it."""

from __future__ import annotations

from assistant.edges.word_files import load_commands

WAKE = load_commands().wake

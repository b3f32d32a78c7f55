"""Help that names the wake word as the words file has it."""

from __future__ import annotations

import argparse

from assistant.edges.word_files import load_commands


class WakeWordHelp(argparse.RawDescriptionHelpFormatter):
    """Texts as they are written, `{wake}` filled in; the file is read only if help is asked for."""

    def add_text(self, text: str | None) -> None:
        """A description or an epilog."""
        super().add_text(text and text.replace("{wake}", load_commands().wake))

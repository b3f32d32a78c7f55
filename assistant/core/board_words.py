"""How does a board name what is due and what a head is doing? Words to read, not to hear."""

from __future__ import annotations

from assistant.core.due import Kind

# what it is called while it is to come, and what to do once it is there: read from afar
DUE: dict[Kind, tuple[str, str]] = {
    "burns": ("burning", "rinse now, cool water"),
    "limit": ("limit", "LIMIT, rinse now"),
    "left_in": ("over limit", "over limit, is it off?"),
    "uncertain": ("in doubt", "in doubt, look now"),
    "broken": ("calls failing", "calls fail, watch it"),
    "near": ("near limit", "near its limit"),
    "due": ("target", "due, check now"),
    "start": ("goes on", "put it on now"),
    "bowl": ("bowl is old", "bowl is old, mix fresh"),
    "pace": ("last start for one rinse", "needs its own rinse"),
    "rinsing": ("rinse", "is it off?"),
    "stylist": ("stylist asked for", "stylist, look here"),
    "window": ("rinse window", "check, then rinse"),
    "check": ("strand check", "check a strand"),
    "microphone": ("microphone lost", "microphone lost"),
    "loudspeaker": ("sound is failing", "no sound, watch here"),
    "disk": ("disk refuses", "disk full or failing"),
}
_DOING = {
    "gate": "to ask first: {}",
    "mix": "to mix: {}",
    "place": "to put on: {}",
    "pass": "being put on: {}",
    "develop": "developing: {}",
    "rinse": "rinsing: {}",
    "finish": "finishing: {}",
    "closed": "finished",
    "stopped": "STOPPED",
}


def due_words(kind: str) -> tuple[str, str]:
    """Its name and what to do. A kind without words is shown by its own name, never left out."""
    words = {str(known): said for known, said in DUE.items()}
    return words.get(kind, (kind.replace("_", " "), "look now"))


def doing(state: str, subject: str) -> str:
    """What a head is at, in a few words."""
    return _DOING.get(state, state + " {}").format(subject).strip()

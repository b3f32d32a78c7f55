"""The conversation: the open question, the pending second phrase, undo, the error ladder."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from assistant.core.events import Mode, Say
from assistant.core.head_file import HeadFile
from assistant.core.intents import Intent
from assistant.core.replies import Reply

ANSWER_SECONDS = 8.0  # listened for without the wake word after a question of ours
LONGEST_ANSWER = 10.0  # an answer begun in time is waited for this long
LONGEST_SENTENCE = 30.0  # a question whose sentence never reports its end is dropped after this
UNDO_SECONDS = 60.0
MISSES_FORGOTTEN = 60.0

# Two commands that fit each state, for "what can I say" and the last step of the ladder.
FITTING: dict[str, tuple[str, str]] = {
    "none": ("open", "help"),
    "gate": ("again", "why"),
    "mix": ("mixed", "ratio"),
    "place": ("starting", "zone_on"),
    "pass": ("zone_on", "how_long"),
    "develop": ("how_long", "rinsing"),
    "rinse": ("rinsed", "how_long"),
    "finish": ("next", "again"),
    "closed": ("open", "help"),
    "stopped": ("rinsing", "end_service"),
}
# A call's own question does not push one of these aside.
FIRM: frozenset[Mode] = frozenset({"confirm", "which", "number"})


@dataclass(slots=True)
class Question:
    """A question of ours: answers to it need no wake word until it expires."""

    say: int
    mode: Mode
    chair: int | None
    expires: float
    zones: tuple[str, ...] = ()
    numbers: tuple[int, ...] = ()  # the only ones that answer it; () = any


@dataclass(frozen=True, slots=True)
class Pending:
    """A stopping command that waits for its second, different phrase."""

    intent: Intent
    chair: int
    at: float


@dataclass(frozen=True, slots=True)
class Undo:
    """The last act and the head as it was before."""

    at: float
    chair: int
    before: tuple[str, HeadFile]
    what: str
    earlier: Undo | None = None  # an answer to a trainee's question hides no act from "undo"

    def possible(self, at: float) -> bool:
        """Within a minute."""
        return at - self.at <= UNDO_SECONDS


@dataclass(slots=True)
class Talk:
    """Everything the conversation remembers. Times are salon seconds."""

    question: Question | None = None
    pending: Pending | None = None
    which: Intent | None = None
    undo: Undo | None = None
    last: Reply | None = None
    misses: int = 0
    missed_at: float = 0.0
    called_chair: int | None = None
    _calls: dict[int, tuple[str, ...]] = field(default_factory=dict)

    def saying(self, say: Say, what: Reply, at: float) -> None:
        """A sentence goes out: remember it, and its question."""
        if say.call:
            self._calls[say.id] = tuple(say.call.split())
            self.called_chair = say.chair
        elif not what.phrase.startswith("because"):  # "say again" means the step itself
            self.last = what
        firm = self.question is not None and self.question.mode in FIRM
        if what.asks is not None and not (say.call and firm):
            self.question = self._question(say, what, what.asks, at + LONGEST_SENTENCE)

    def _question(self, say: Say, what: Reply, mode: Mode, expires: float) -> Question:
        """ "Once more?" names no chair: it is the question of before (a call of several is not)."""
        before = self.question
        again = say.chair is None and not say.call
        if before is not None and before.mode == mode and again:
            return replace(before, say=say.id, expires=expires)
        values = dict(what.values)
        zones = values.get("zones", ())
        asked = (values.get(name) for name in ("first", "second"))
        return Question(
            say.id,
            mode,
            say.chair,
            expires,
            zones if isinstance(zones, tuple) else (),
            tuple(number for number in asked if isinstance(number, int)),
        )

    def spoken(self, say: int, at: float) -> None:
        """A sentence ended: the seconds of its question count from here."""
        if self.question is not None and self.question.say == say:
            self.question.expires = at + ANSWER_SECONDS

    def calls_of(self, say: int) -> tuple[str, ...]:
        """The calls that a sentence spoke for."""
        return self._calls.get(say, ())

    def missed(self, at: float) -> None:
        """One more utterance that was not understood."""
        if at - self.missed_at > MISSES_FORGOTTEN:
            self.misses = 0
        self.misses += 1
        self.missed_at = at

    def expire(self, at: float) -> None:
        """Drop a question whose last answer must be in by now, and what waited for it."""
        if self.question is not None and at >= self.question.expires + LONGEST_ANSWER:
            if self.question.mode == "confirm":
                self.pending = None
            if self.question.mode == "which":
                self.which = None
            self.question = None

    def open_question(self, at: float) -> Question | None:
        """The question that something said at `at` answers."""
        return self.question if self.question and at < self.question.expires else None

    def next_moment(self, now: float) -> float | None:
        """When the open question expires."""
        return self.question.expires if self.question and self.question.expires > now else None

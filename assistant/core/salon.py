"""All heads: which chair is meant, one step per event, what is said and listened for next.

`Salon.step(event)` is the whole program as far as rules go: the same events give the same
effects, whether they come from a microphone, a rehearsal script or a journal being replayed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from typing import assert_never

from assistant.core import acts, answers, due, people, regulars, salon_wide, teaching
from assistant.core.alarm_book import AlarmBook
from assistant.core.call import Spoken
from assistant.core.calls import CallTable
from assistant.core.client_card import Client
from assistant.core.clocks import MINUTE
from assistant.core.events import (
    ClientKnown,
    ClockDue,
    Device,
    DeviceBack,
    DeviceLost,
    Effect,
    Event,
    Heard,
    Listen,
    Mode,
    Priority,
    Resumed,
    Say,
    SessionStarted,
    SpeechDone,
    Touched,
    Unsay,
    WriteRecord,
)
from assistant.core.head import Head
from assistant.core.intents import Chatter, Intent, Unclear, Words, understand
from assistant.core.recipe import Recipe
from assistant.core.replies import Reply, reply
from assistant.core.rule import SalonRule
from assistant.core.session_names import names_of
from assistant.core.talk import FIRM, Pending, Question, Talk, Undo
from assistant.core.wording import call_phrase

HELLO_AFTER = 5.0  # seconds away that are worth a word


class Salon:
    """Every head of a session and the conversation about them."""

    def __init__(
        self, words: Words, recipes: Mapping[str, Recipe], chairs: int, rule: SalonRule
    ) -> None:
        """A salon with `chairs` chairs and no client yet."""
        self.words = words
        self.recipes = dict(recipes)
        self.rule = rule
        self.names = names_of(words, recipes, chairs)
        meaning = partial(understand, words=words, names=self.names)
        self._understand = lru_cache(1024)(meaning)  # the same is said again all day
        self.heads: dict[int, Head] = {}  # the last head of each chair
        self.history: list[Head] = []
        self.started: SessionStarted | None = None
        self.calls = CallTable()
        self.talk = Talk()
        self.booked: dict[int, Client] = {}  # announced for a chair, not yet sitting there
        self.lost: dict[Device, float] = {}
        self.now = 0.0
        self._said = 0
        self._book = AlarmBook()
        self.broken = self._book.broken  # heads whose alarms cannot be worked out
        self._alarms: list[due.Alarm] | None = None
        self._mode: Mode = "open"

    # ------------------------------------------------------------ one step

    def step(self, event: Event) -> list[Effect]:
        """Take one event, give back what is to be done, in order."""
        self.now = at = event.at
        self.talk.expire(at)
        self._forget_alarms(event)
        effects = self._take(event, at)
        self._forget_alarms(event)
        effects += self._call_out(at)
        if self.mode != self._mode:
            self._mode = self.mode
            effects.append(Listen(self._mode))
        return effects

    def _take(self, event: Event, at: float) -> list[Effect]:
        match event:
            case SessionStarted():
                self.started = event
                return [self.say(reply("hello"))]
            case Heard():
                return self._heard(event, at)
            case Touched():
                return self.intent(Intent(event.intent, chair=event.chair), at)
            case SpeechDone():
                self.talk.spoken(event.say, at)
                keys = self.talk.calls_of(event.say)
                if event.outcome == "played":
                    self.calls.ended(keys)
                elif event.outcome == "failed" and "loudspeaker" in self.lost:
                    self.calls.unheard(keys, at)
                else:
                    self.calls.cut(keys, at)
                return []
            case DeviceLost():
                self.lost.setdefault(event.device, at)
                return []
            case DeviceBack():
                known = self.lost.pop(event.device, None)
                if event.device == "loudspeaker":
                    self.calls.again(at)  # nobody heard it
                return [self.say(reply(f"back_{event.device}"))] if known is not None else []
            case Resumed():
                return self._resumed(event, at)
            case ClockDue():
                return []
            case ClientKnown():
                return regulars.known(self, event)
        assert_never(event)

    @property
    def mode(self) -> Mode:
        """How to listen now."""
        question = self.talk.open_question(self.now)
        return question.mode if question else "open"

    def next_moment(self) -> float | None:
        """When to be woken if nothing else happens."""
        moments = [
            due.next_moment(self.alarms(), self.now),
            self.calls.next_moment(self.now, self._held()),
            self.talk.next_moment(self.now),
        ]
        return min((m for m in moments if m is not None), default=None)

    # --------------------------------------------------------------- heard

    def _heard(self, event: Heard, at: float) -> list[Effect]:
        question = self.talk.open_question(event.began)
        mode = question.mode if question else "open"
        meant = self._understand(event.text, mode=mode, woken=event.woken)
        match meant:
            case Chatter():
                return []
            case Unclear():
                return self.unclear(meant.heard, at)
            case Intent():
                self.talk.misses = 0
                return self.intent(meant, at)
        assert_never(meant)

    def unclear(self, heard: str, at: float) -> list[Effect]:
        """Say again? What I heard. Two examples. Then silence: it never guesses."""
        self.talk.missed(at)
        mode = self.talk.question.mode if self.talk.question else None
        match self.talk.misses:
            case 1:
                return [self.say(reply("say_again", asks=mode))]
            case 2 if heard:
                return [self.say(reply("heard_text", asks=mode, text=heard))]
            case 2 | 3:
                return [self.say(salon_wide.two_examples(self, mode))]
        return []

    # -------------------------------------------------------------- intents

    def intent(self, intent: Intent, at: float) -> list[Effect]:
        """Carry out what was meant; asks "which chair?" when that is open."""
        if salon_wide.about(intent.name):
            return salon_wide.answer(self, intent, at)
        question = self._question_for(intent)
        chair = intent.chair or (question.chair if question else None)
        active = [c for c, head in self.heads.items() if head.active] or list(self.heads)
        if chair is None and len(active) == 1:
            chair = active[0]
        if chair is None:
            if not active:
                return [self.say(reply("no_client"))]
            self.talk.which = intent
            phrase = "which_chair_burns" if intent.name == "burns" else "which_chair"
            return [self.say(reply(phrase, asks="which"))]
        head = self.heads.get(chair)
        if head is None:
            return [self.say(reply("chair_empty", chair=chair))]
        zones = question.zones if question and question.chair == chair else ()
        return self._on_head(head, replace(intent, chair=chair, zones=zones), at)

    def _question_for(self, intent: Intent) -> Question | None:
        """The question of ours that this answers, if any."""
        question = self.talk.question
        if question is None or question.mode not in self.words.command(intent.name).modes:
            return None
        return question

    def _on_head(self, head: Head, intent: Intent, at: float) -> list[Effect]:
        command = self.words.command(intent.name)
        if answers.answers(intent.name):
            return self.replies(head, answers.answer(head, intent, at))
        if not people.may(head, intent.name):
            return [self.say(reply("with_assistant", chair=head.chair), head.chair)]
        if command.risk == "stop":
            self.talk.pending = Pending(intent, head.chair, at)
            ask = reply(
                f"confirm_{intent.name}", asks="confirm", zone=intent.zone, chair=head.chair
            )
            return [self.say(ask, head.chair)]
        return self.change(head, intent, at)

    def change(self, head: Head, intent: Intent, at: float) -> list[Effect]:
        """Let a command change a head; the act can be taken back for a minute."""
        before = head.snapshot()
        outcome = acts.act(head, intent, at, self.rule)
        replies = [*outcome.replies]
        if outcome.changed:
            earlier = self.talk.undo if intent.name in teaching.ANSWERS else None
            undo = Undo(at, head.chair, before, intent.name, earlier)
            self.talk.undo = None if intent.name == "burns" else undo
        if outcome.instruct:
            replies += answers.instruct(head, at)
        elif outcome.changed:
            replies += teaching.taken_up(head, intent.name)
        effects = self.replies(head, replies)
        if outcome.changed and head.state in ("closed", "stopped"):
            effects.append(WriteRecord(head.chair, head.number))
        return effects

    # ------------------------------------------------------------- restart

    def _resumed(self, event: Resumed, at: float) -> list[Effect]:
        self.calls.again(at)
        if event.certain and event.away_seconds < HELLO_AFTER:
            return []
        for head in self.heads.values():
            if not event.certain and any(z.running for z in head.file.zones):
                head.file.uncertain_since = at
                self.talk.undo = None  # a look back must not take the doubt away
        if not event.certain:
            return [self.say(reply("power_lost"))]
        away = round(event.away_seconds / MINUTE)
        return [self.say(reply("resumed", away=away) if away else reply("resumed_soon"))]

    # --------------------------------------------------------------- calls

    def alarms(self) -> list[due.Alarm]:
        """Every alarm of every head and device, past and to come."""
        if self._alarms is None:
            lost = [due.Alarm(device, None, 0, device, at) for device, at in self.lost.items()]
            self._alarms = self._book.of_all(self.heads.values()) + lost
        return self._alarms

    def _forget_alarms(self, event: Event) -> None:
        """Time and speech change no fact."""
        if not isinstance(event, ClockDue | SpeechDone):
            self._alarms = None

    def _held(self) -> list[int]:
        """Heads whose checks wait: in the middle of a pass, or while we wait for an answer."""
        question = self.talk.open_question(self.now)
        waits = question is not None and question.mode in FIRM
        return [head.number for head in self.heads.values() if waits or head.state == "pass"]

    def _call_out(self, at: float) -> list[Effect]:
        known = self.alarms()
        true = due.true_now(known, at)
        effects: list[Effect] = []
        if over := self.calls.update(true, known, at):
            effects.append(Unsay(tuple(over)))
        for spoken in self.calls.to_say(known, at, self._held()):
            effects.append(self._call(spoken, at))
        return effects

    def _call(self, spoken: Spoken, at: float) -> Say:
        phrase, values, asks = call_phrase(spoken, at)
        call = " ".join(alarm.key for alarm in spoken.alarms)
        say = self.say(Reply(phrase, values, asks), spoken.chair, spoken.priority, call)
        return replace(say, fresh=not spoken.repeat, tone_only=spoken.tone_only)

    # -------------------------------------------------------------- saying

    def replies(self, head: Head, replies: Sequence[Reply]) -> list[Effect]:
        """Answers about one head."""
        return [self.say(one, head.chair) for one in replies]

    def say(
        self,
        what: Reply,
        chair: int | None = None,
        priority: Priority = Priority.GUIDE,
        call: str = "",
    ) -> Say:
        """One sentence, remembered as said."""
        self._said += 1
        say = Say(self._said, priority, chair, what.phrase, what.values, call, what.asks)
        self.talk.saying(say, what, self.now)
        return say

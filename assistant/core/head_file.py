"""What has happened on one head: the facts from which its step, its clocks and calls follow."""

from __future__ import annotations

import copy
from dataclasses import dataclass, field, fields, replace

from assistant.core.client_card import Client
from assistant.core.levels import Lesson
from assistant.core.recipe import Zone


@dataclass(slots=True)
class ZoneRun:
    """What happened to one zone. Times are salon seconds, None = not (yet)."""

    stage: int
    zone: Zone
    pass_began_at: float | None = None
    on_at: float | None = None
    ready_at: float | None = None
    look_at: float | None = None  # re-armed strand check
    rinsing_at: float | None = None
    rinsed_at: float | None = None
    stopped_at: float | None = None  # its clock was stopped by a confirmed command
    left_out: bool = False
    checks: list[tuple[float, str]] = field(default_factory=list)

    @property
    def running(self) -> bool:
        """Product is on: the clock runs until the rinse is done or the clock is stopped."""
        return self.on_at is not None and self.rinsed_at is None and self.stopped_at is None

    @property
    def settled(self) -> bool:
        """Nothing more is to be done here."""
        return self.left_out or self.rinsed_at is not None or self.stopped_at is not None

    @property
    def waiting(self) -> bool:
        """Still to be put on."""
        return self.on_at is None and not self.settled


@dataclass(slots=True)
class HeadFile:
    """The facts of one service."""

    opened_at: float
    zones: list[ZoneRun]
    gate: dict[str, str] = field(default_factory=dict)
    mixed: dict[tuple[int, str], float] = field(default_factory=dict)
    finished: int = 0
    stopped_why: str = ""
    burns_at: float | None = None
    incidents: list[tuple[float, str]] = field(default_factory=list)
    uncertain_since: float | None = None
    told: int = 0  # how many parts of the present instruction were told
    with_assistant: bool = False
    asked_at: float | None = None  # the stylist was asked to come
    comfort: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    ended_at: float | None = None
    lesson: Lesson | None = None  # a trainee follows this service
    client: Client | None = None
    outcome: dict[str, str] = field(default_factory=dict)  # of colour and of hair, as said last
    home_care_at: float | None = None  # when it was explained

    def copy(self) -> HeadFile:
        """The facts as they stand. What nothing can change (a recipe's zone) is shared."""
        facts = {each.name: copy.copy(getattr(self, each.name)) for each in fields(self)}
        facts["zones"] = [replace(run, checks=[*run.checks]) for run in self.zones]
        facts["lesson"] = copy.deepcopy(self.lesson)
        return HeadFile(**facts)

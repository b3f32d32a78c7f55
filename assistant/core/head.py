"""One client: what has happened on this head, and the table of what may happen next.

`HeadFile` (head_file.py) holds the facts; the routine's current step is *derived* from them, the
first step not yet done: zones put on out of order, undo and restarts need no bookkeeping.
`TRANSITIONS` is the law: an act whose trigger is not legal in the present state changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from transitions import Machine

from assistant.core import clocks
from assistant.core.clocks import ZoneClock
from assistant.core.head_file import HeadFile, ZoneRun
from assistant.core.recipe import Recipe, Stage

GATE = ("alert test", "scalp", "gloves", "leaflet", "age")
STATES = ("gate", "mix", "place", "pass", "develop", "rinse", "finish", "closed", "stopped")


def _moves(trigger: str, sources: str, dests: str) -> list[dict[str, Any]]:
    """One row per destination, each guarded by "the first step not done is of that kind"."""
    return [
        {"trigger": trigger, "source": source, "dest": dest, "conditions": f"next_is_{dest}"}
        for source in sources.split()
        for dest in dests.split()
    ]


TRANSITIONS: list[dict[str, Any]] = [
    *_moves("answered", "gate", "gate mix"),
    {"trigger": "refused", "source": "gate", "dest": "stopped"},
    *_moves("mixed", "mix", "mix place"),
    {"trigger": "began", "source": "place", "dest": "pass"},
    *_moves("zone_on", "place pass", "mix place pass develop"),
    *_moves("left_out", "place pass", "mix place develop"),
    *_moves("rinse_began", "develop rinse", "develop rinse"),
    *_moves("rinsed", "develop rinse", "develop rinse mix place finish"),
    # one zone may be rinsed, or its clock stopped, while others are still being put on
    *({"trigger": t, "source": s, "dest": None} for t in ("rinse_began", "rinsed")
      for s in ("mix", "place", "pass", "stopped")),
    {"trigger": "checked", "source": ["mix", "place", "pass", "develop"], "dest": None},
    *_moves("done", "finish", "finish closed"),
    {"trigger": "burned", "source": [s for s in STATES if s not in ("closed",)], "dest": "stopped"},
    # "it burns" was misheard, or nothing burned: taken up again by a confirmed command
    *_moves("taken_up", "stopped", "gate mix place pass develop rinse finish"),
    {"trigger": "ended", "source": [s for s in STATES if s != "closed"], "dest": "closed"},
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the routine: its kind is the state it is in, its subject what it is about."""

    kind: str
    stage: int
    subject: str


def routine(recipe: Recipe) -> tuple[Step, ...]:
    """The steps of a recipe in order: gate, then mix and place per stage, develop, rinse, finish.

    A bowl is mixed just before its first zone, because mixed product ages.
    """
    steps = [Step("gate", 0, question) for question in GATE]
    for index, stage in enumerate(recipe.stages):
        mixed: set[str] = set()
        for zone in stage.zones:
            if zone.bowl not in mixed:
                mixed.add(zone.bowl)
                steps.append(Step("mix", index, zone.bowl))
            steps.append(Step("place", index, zone.name))
        steps += [Step("develop", index, stage.name), Step("rinse", index, stage.name)]
    last = len(recipe.stages) - 1
    steps += [Step("finish", last, text) for text in recipe.finish]
    return (*steps, Step("closed", last, ""))


class Head:
    """One head in one chair, walking its routine."""

    state: str  # set by transitions
    trigger: Callable[[str], bool]

    def __init__(self, chair: int, number: int, recipe: Recipe, at: float) -> None:
        """Open chair `chair` with `recipe` at salon second `at`; `number` is the head's own."""
        self.chair = chair
        self.number = number
        self.recipe = recipe
        self.steps = routine(recipe)
        self.file = HeadFile(at, [ZoneRun(stage, zone) for stage, zone in recipe.zones()])
        self._machine = Machine(
            model=self,
            states=list(STATES),
            transitions=TRANSITIONS,
            initial="gate",
            auto_transitions=False,
            queued=True,
        )

    # ---- where we are

    @property
    def active(self) -> bool:
        """The service is going on, or product is still on the hair."""
        return self.state not in ("closed", "stopped") or any(z.running for z in self.file.zones)

    def step(self) -> Step:
        """The first step not yet done."""
        return next((s for s in self.steps if not self._is_done(s)), self.steps[-1])

    def stage(self) -> Stage:
        """The stage of the present step."""
        return self.recipe.stages[self.step().stage]

    def legal(self, trigger: str) -> bool:
        """Whether the table has this trigger in the present state."""
        return trigger in self._machine.get_triggers(self.state)

    def move(self, trigger: str) -> None:
        """Let the table follow the facts; `ValueError` if it has no such move."""
        if not self.legal(trigger) or not self.trigger(trigger):
            raise ValueError(f"{trigger} is not possible in {self.state}")
        self.file.told = 0

    # ---- zones

    def zones(self, stage: int | None = None) -> list[ZoneRun]:
        """The zones of a stage (the present one if not given), in order of application."""
        index = self.step().stage if stage is None else stage
        return [z for z in self.file.zones if z.stage == index]

    def zone(self, name: str) -> ZoneRun | None:
        """The zone of the present stage by name, or None."""
        return next((z for z in self.zones() if z.zone.name == name), None)

    def clock(self, run: ZoneRun) -> ZoneClock:
        """The clock of a zone that is on; `ValueError` if it is not."""
        if run.on_at is None:
            raise ValueError(f"{run.zone.name} is not on")
        starts = [z.on_at for z in self.zones(run.stage) if z.on_at is not None]
        stage = self.recipe.stages[run.stage]
        return clocks.clock(stage, run.zone.name, run.on_at, min(starts))

    def running(self, stage: int | None = None) -> list[ZoneRun]:
        """Zones with product on and no rinse begun."""
        return [z for z in self.zones(stage) if z.running and z.rinsing_at is None]

    def in_doubt(self, run: ZoneRun) -> bool:
        """Whether its minutes are in doubt since a gap and nobody has looked at it since."""
        since = self.file.uncertain_since
        if since is None or not run.running or run.on_at is None or run.on_at > since:
            return False
        return run.rinsing_at is None and all(at < since for at, _ in run.checks)

    def rinse_window(self, stage: int | None = None) -> clocks.RinseWindow | None:
        """The rinse window of the zones that are on, or None if none is."""
        on = [self.clock(z) for z in self.running(stage)]
        return clocks.rinse_window(on) if on else None

    # ---- undo and restart

    def snapshot(self) -> tuple[str, HeadFile]:
        """State and facts, to be given back to `restore`."""
        return self.state, self.file.copy()

    def restore(self, snapshot: tuple[str, HeadFile]) -> None:
        """Back to a snapshot: every clock has its original start."""
        state, file = snapshot
        self._machine.set_state(state, model=self)
        self.file = file.copy()

    # ---- guards of the table

    def _is_done(self, step: Step) -> bool:
        file, zones = self.file, (z for z in self.file.zones if z.stage == step.stage)
        match step.kind:
            case "gate":
                return step.subject in file.gate
            case "mix":
                users = [z for z in zones if z.zone.bowl == step.subject]
                return (step.stage, step.subject) in file.mixed or not any(z.waiting for z in users)
            case "place":
                return not next(z for z in zones if z.zone.name == step.subject).waiting
            case "develop":
                return all(z.settled or z.rinsing_at is not None for z in zones)
            case "rinse":
                return all(z.settled for z in zones)
            case "finish":
                steps = [s for s in self.steps if s.kind == "finish"]
                return file.finished > steps.index(step)
        return False

    def _next_is(self, kind: str) -> bool:
        step = self.step()
        if step.kind == "place" and kind in ("place", "pass"):
            run = self.zone(step.subject)
            begun = run is not None and run.pass_began_at is not None
            return kind == ("pass" if begun else "place")
        return step.kind == kind

    def next_is_gate(self) -> bool:
        """The next step is a question of the safety gate."""
        return self._next_is("gate")

    def next_is_mix(self) -> bool:
        """The next step is a bowl."""
        return self._next_is("mix")

    def next_is_place(self) -> bool:
        """The next step is a zone whose pass has not begun."""
        return self._next_is("place")

    def next_is_pass(self) -> bool:
        """The next step is a zone whose pass has begun."""
        return self._next_is("pass")

    def next_is_develop(self) -> bool:
        """Every zone of the stage is on."""
        return self._next_is("develop")

    def next_is_rinse(self) -> bool:
        """Every zone of the stage is being rinsed or is rinsed."""
        return self._next_is("rinse")

    def next_is_finish(self) -> bool:
        """Every stage is rinsed."""
        return self._next_is("finish")

    def next_is_closed(self) -> bool:
        """Nothing is left to do."""
        return self._next_is("closed")


def mermaid() -> str:
    """The state diagram of the table, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", "    [*] --> gate"]
    for source, dest, triggers in _arrows():
        lines.append(f"    {source} --> {dest}: {', '.join(triggers)}")
    return "\n".join([*lines, "    closed --> [*]"])


def _arrows() -> Iterator[tuple[str, str, list[str]]]:
    grouped: dict[tuple[str, str], list[str]] = {}
    for row in TRANSITIONS:
        sources = row["source"] if isinstance(row["source"], list) else [row["source"]]
        for source in sources:
            grouped.setdefault((source, row["dest"] or source), []).append(row["trigger"])
    for (source, dest), triggers in grouped.items():
        yield source, dest, triggers

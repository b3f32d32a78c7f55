"""What came of a proof: how many trials, which of them failed, what was measured."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class Outcome:
    """One line of a proof's table."""

    name: str
    trials: int = 0
    failures: list[str] = field(default_factory=list)
    notes: str = ""

    def check(self, holds: bool, otherwise: str) -> None:
        """Count one trial; `otherwise` says what went wrong, so that it can be repeated."""
        self.trials += 1
        if not holds:
            self.failures.append(otherwise)


def table(outcomes: list[Outcome]) -> str:
    """The outcomes as text."""
    width = max(len(each.name) for each in outcomes)
    lines = [f"{'what':{width}}  {'trials':>8}  {'failed':>6}  notes"]
    for each in outcomes:
        lines.append(f"{each.name:{width}}  {each.trials:8}  {len(each.failures):6}  {each.notes}")
        lines += [f"    {failure}" for failure in each.failures[:5]]
    return "\n".join(line.rstrip() for line in lines)

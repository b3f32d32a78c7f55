"""`swatchword plan`: what to mix, how one head runs, how a day of heads fits people and basins."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from assistant.cli import plan_bowls
from assistant.core import plan_head, plan_order, plan_sheet
from assistant.core.figures import number_given
from assistant.core.plan import Plan
from assistant.core.plan_check import faults
from assistant.core.plan_clash import clash
from assistant.core.plan_day import SKILLS, Booking, Day, Facts, Person, problems
from assistant.core.plan_greedy import greedy
from assistant.core.recipe import Recipe
from assistant.edges import day_file, drawing_png, plan_picture, recipe_files, solver, whole_files
from assistant.edges.yaml_reader import nearest
from assistant.errors import ConfigError, SumError

ABOUT = """\
For a recipe: grams of every bowl, every zone's pass and clock, the rinse window, the order.
For a day file: heads, people and basins as a plan, checked against every limit. Advice only:
no plan ever moves a call. Writes plan.txt and a picture into the folder.
"""
EXAMPLES = """\
examples:
  swatchword plan root-melt                     one head: bowls, clocks, rinse window
  swatchword plan root-melt --pace 1.5          the same, half as long again
  swatchword plan double-booked                 a day that ships; --list names all
  swatchword plan my-day.yaml                   a day of your own (copy a shipped one)
  swatchword plan root-melt --as-used           with what earlier bowls took, from the records
  swatchword plan root-tap --hair 30 --measured nape=14x12 --measured crown=20x16
  swatchword plan --mix 60 1:1.5 --developer 6  one bowl; --developer 20vol works too
  swatchword plan --colour 35 1:1.5             the bowl for colour that is squeezed out
  swatchword plan --dilute 90 6 --from 12,3     a strength that is not on the shelf
exit code: 0 it fits, 1 it does not (or bad input, then nothing is written)
"""
HAND = Person("one person", SKILLS)


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "plan",
        help="mix quantities, zone timing, several heads against people and basins",
        description=ABOUT,
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("what", nargs="?", help="a recipe, a shipped day, or a day file")
    parser.add_argument("--list", action="store_true", help="list recipes and shipped days")
    parser.add_argument("--mix", nargs=2, metavar=("GRAMS", "RATIO"), help="weigh one bowl")
    parser.add_argument(
        "--colour", nargs=2, metavar=("GRAMS", "RATIO"), help="from the colour alone"
    )
    parser.add_argument("--developer", metavar="PERCENT", help="its developer: 6, or 20vol")
    parser.add_argument("--dilute", nargs=2, metavar=("GRAMS", "PERCENT"), help="make a strength")
    parser.add_argument("--from", dest="stocks", metavar="A,B", help="from these strengths")
    parser.add_argument("--shelf", metavar="A,B", help="developers on the shelf, percent")
    parser.add_argument(
        "--measured", action="append", default=[], metavar="ZONE=14x12",
        help="cm across the partings, cm of one: bowls are sized from the head",
    )  # fmt: skip
    parser.add_argument("--hair", metavar="CM", help="how long it is, where zones are measured")
    parser.add_argument("--as-used", action="store_true", help="what earlier bowls really took")
    parser.add_argument("--store", type=Path, metavar="FILE", help="another records.db")
    parser.add_argument("--pace", default="1", metavar="N", help="1.2 = a fifth slower")
    parser.add_argument("--leave-out", action="append", default=[], metavar="ZONE")
    parser.add_argument("--quick", action="store_true", help="the quick planner, not the solver")
    parser.add_argument("--out", type=Path, metavar="DIR", help="folder (default plan-out/NAME)")
    parser.add_argument("--recipes", type=Path, metavar="DIR", help="another folder of recipes")
    parser.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """One bowl, one strength, one head or one day."""
    if chosen.mix:
        grams, ratio = chosen.mix
        return _show(plan_bowls.of_total(grams, ratio, chosen.developer))
    if chosen.colour:
        grams, ratio = chosen.colour
        return _show(plan_bowls.of_colour(grams, ratio, chosen.developer))
    if chosen.dilute:
        grams, percent = chosen.dilute
        return _show(plan_bowls.strength(grams, percent, chosen.stocks))
    recipes, _ = recipe_files.load_all(chosen.recipes)
    if chosen.list:
        days = [f"day     {name}" for name in day_file.names()]
        return _show([*(f"recipe  {name.replace(' ', '-')}" for name in recipes), *days])
    if not chosen.what:
        raise ConfigError("plan what? Name a recipe or a day (swatchword plan --list)")
    spoken = chosen.what.replace("-", " ")
    if spoken in recipes:
        return _one_head(chosen, recipes[spoken])
    path = day_file.find(chosen.what)
    if path is None:
        near = nearest(chosen.what, [*recipes, *day_file.names()])
        hint = f"did you mean {near!r}?" if near else "see swatchword plan --list"
        raise ConfigError(f"neither a recipe nor a day: {chosen.what!r}: {hint}")
    title, day = day_file.load(path, recipes)
    return _one_day(chosen, title, day, path.stem)


# ------------------------------------------------------------------ one head


def _one_head(chosen: argparse.Namespace, recipe: Recipe) -> int:
    pace = number_given(chosen.pace, "the pace")
    if not 0.2 <= pace <= 5:
        raise SumError(f"a pace of {pace:g} cannot be: 1 is the recipe's own, 1.5 half more")
    booking = Booking(1, recipe, 0.0, tuple(chosen.leave_out), facts=Facts(pace=pace))
    day = Day((booking,), (HAND,), 1)
    for _, what, mend in problems(day):
        raise ConfigError(f"{recipe.name}: {what}: {mend}")
    told = plan_head.service_plan(recipe, chosen.leave_out, pace)
    lines = [f"{recipe.title}", "", "Bowls"]
    bowls = plan_bowls.of_recipe(recipe, chosen.shelf, chosen.measured, chosen.hair)
    lines += [f"  {line}" for line in bowls]
    if chosen.as_used:
        lines += ["", "As used here"]
        lines += [f"  {line}" for line in plan_bowls.as_used_here(recipe, chosen.store)]
    lines += ["", "Minutes from the first pass", *plan_sheet.service_lines(told), ""]
    lines += [f"{line}" for s in recipe.stages for line in plan_order.best_order(s).sentences()]
    plan = _Planner(chosen)(day)
    fits = all(stage.fits for stage in told)
    if plan is not None:
        title = f"{recipe.name}, one head, hours and minutes from its arrival"
        _write(chosen, recipe.name.replace(" ", "-"), title, day, plan, lines)
    _show(lines)
    return 0 if fits else 1


# ------------------------------------------------------------------ one day


def _one_day(chosen: argparse.Namespace, title: str, day: Day, name: str) -> int:
    planner = _Planner(chosen)
    plan = planner(day)
    if plan is None:
        found = clash(day, planner)
        _show([title, found.sentence() if found else "It fits after all: plan it again."])
        return 1
    broken = faults(day, plan)
    lines = [title, f"planned by {plan.by}; advice only, every limit checked", ""]
    lines += [*plan_sheet.lanes(day, plan), "", *plan_sheet.by_time(day, plan), *broken]
    _write(chosen, name, title, day, plan, lines)
    _show(lines)
    return 1 if broken else 0


class _Planner:
    """The solver where it is installed and wanted, after the quick planner."""

    def __init__(self, chosen: argparse.Namespace) -> None:
        self.quick = chosen.quick or not solver.available()

    def __call__(self, day: Day) -> Plan | None:
        first = greedy(day)
        return first if self.quick else solver.solve(day, first).plan or first


def _write(
    chosen: argparse.Namespace, name: str, title: str, day: Day, plan: Plan, lines: Sequence[str]
) -> None:
    folder: Path = chosen.out or Path("plan-out") / name
    plan_picture.save_svg(title, day, plan, folder / "plan.svg")
    if drawing_png.available():
        plan_picture.save_png(title, day, plan, folder / "plan.png")
    whole_files.write(folder / "plan.txt", "\n".join([*lines, ""]))


def _show(lines: Sequence[str]) -> int:
    for line in lines:
        print(line)
    return 0

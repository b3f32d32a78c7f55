"""Days for tests and the benchmark: drawn by a seed from the shipped recipes, or small by hand."""

from __future__ import annotations

import functools
import random
from dataclasses import replace

from assistant.core.plan_day import SKILLS, Booking, Break, Day, Facts, House, Person
from assistant.core.recipe import Recipe
from assistant.edges import recipe_files

# heads, people, basins
SIZES = ((2, 1, 1), (3, 1, 1), (4, 2, 1), (6, 2, 1), (6, 2, 2), (8, 3, 1), (8, 3, 2))
CREW = (
    Person("Ines", SKILLS),
    Person("Tom", ("check", "rinse")),
    Person("Rosa", SKILLS),
)
MORNING = 10 * 60.0
PATIENT = House(wait_minutes=24 * 60)


@functools.cache
def shipped() -> dict[str, Recipe]:
    return recipe_files.load_all()[0]


def drawn(seed: int, heads: int, people: int, basins: int, house: House = PATIENT) -> Day:
    """Arrivals 5 to 25 minutes apart, any recipe, a break for one person in every second day."""
    dice = random.Random(f"{seed}/{heads}/{people}/{basins}")
    recipes = list(shipped().values())
    arrives, bookings = MORNING, []
    for chair in range(1, heads + 1):
        recipe = dice.choice(recipes)
        out = tuple(z.name for _, z in recipe.zones() if z.optional and dice.random() < 0.5)
        bookings.append(Booking(chair, recipe, arrives, out))
        arrives += dice.randrange(5, 26)
    crew = list(CREW[:people])
    if dice.random() < 0.5:
        begins = MORNING + dice.randrange(30, 120)
        who = dice.randrange(people)
        crew[who] = replace(crew[who], breaks=(Break(begins, begins + 20),))
    return Day(tuple(bookings), tuple(crew), basins, house=house)


def one_zone_each(*recipes: Recipe, people: int = 1, basins: int = 1, apart: float = 5) -> Day:
    """Heads that arrive so many minutes apart, no time for consulting or finishing."""
    house = House(prepare_minutes=0, finish_minutes=0, wait_minutes=60)
    bookings = tuple(
        Booking(chair, recipe, MORNING + apart * (chair - 1))
        for chair, recipe in enumerate(recipes, 1)
    )
    return Day(bookings, CREW[:people], basins, house=house)


def on(booking: Booking, **facts: object) -> Booking:
    return replace(booking, facts=replace(Facts(), **facts))  # type: ignore[arg-type]

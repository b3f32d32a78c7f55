"""Clock arithmetic against worked examples, exact to the second. The source stands beside each."""

from __future__ import annotations

import pytest

from assistant.core import clocks, due
from assistant.core.clocks import MINUTE
from tests.core.recipes import bowl, recipe, stage, window, zone
from tests.core.service import Service

# Hot roots: lengths first, the last half inch about 20 minutes later, and the time on the
# leaflet *includes* those 20 minutes. Source: trade blog black-hair-news.blogspot.com, November
# 2011 (one page; so both ways of counting are offered, the recipe says which).
HOT_ROOTS = [(30, 10), (35, 15), (45, 25)]


@pytest.mark.parametrize(("total", "root_gets"), HOT_ROOTS)
def test_a_shared_total_counts_the_zone_that_was_on_first(total: int, root_gets: int) -> None:
    timed = window(total - 10, total, total)
    both = stage(zone("lengths", window=timed), zone("roots", window=timed), counts_from="shared")
    lengths = clocks.clock(both, "lengths", 0.0, 0.0)
    roots = clocks.clock(both, "roots", 20 * MINUTE, 0.0)
    assert lengths.target_at == roots.target_at == total * MINUTE  # rinse all together
    assert roots.target_at - roots.started_at == root_gets * MINUTE
    own = stage(zone("lengths", window=timed), zone("roots", window=timed))
    assert clocks.clock(own, "roots", 20 * MINUTE, 0.0).target_at == (20 + total) * MINUTE


def test_foils_put_on_ten_minutes_apart_are_not_due_together() -> None:
    """A client's account of 2007 (erstwhilelibrarian.blogspot.com, April 2007): foils on top and
    left, the stylist is called away for about ten minutes, the other half follows, everything is
    rinsed together; the first half came out nearly white. Worked example: target 30 minutes;
    A on at 0 is due at 30, B on at 10 is due at 40. It must be said at 30, not at 40."""
    foils = stage(
        zone("left side", window=window(20, 30, 35)), zone("right side", window=window(20, 30, 35))
    )
    service = Service(recipe(foils)).at("00:00")
    service.hear("start test tap")
    service.gate()
    service.hear("bowl is mixed")
    service.hear("left side is on")
    service.at("10:00").hear("right side is on")
    service.at("40:00")
    said = {text: at for at, text in reversed(service.said)}
    assert said["Chair one. Left side. Due. Check now."] == 30 * MINUTE
    assert said["Chair one. Right side. Due. Check now."] == 40 * MINUTE
    assert said["Chair one. Left side. Limit. Rinse now."] == 35 * MINUTE


# Toner: usually 15 minutes, but look every 5 to 7. Source: an educator's page "Guidelines for
# color result consistency" and oureverydaylife.com (trade pages, grade C).
@pytest.mark.parametrize(("every", "looks"), [(5, [5, 10]), (7, [7, 14])])
def test_a_toner_is_looked_at_in_its_rhythm_and_due_at_fifteen(
    every: int, looks: list[int]
) -> None:
    toner = stage(zone("lengths", window=window(every, 15, 20, every)))
    service = Service(recipe(toner)).at("00:00")
    service.hear("start test tap")
    service.gate()
    service.hear("bowl is mixed")
    service.hear("lengths is on")
    for minute in looks:
        service.at(f"{minute}:00").hear("not ready")
    service.at("16:00")
    checks = [at / MINUTE for at, text in service.said if "Lengths. Check a strand" in text]
    assert checks == looks
    assert next(at for at, text in service.said if "Lengths. Due" in text) == 15 * MINUTE


# Intersection by hand: A on 0:00 [20, 45], B on 7:00 [20, 45], C on 14:30 [15, 30]
# opens max(20:00, 27:00, 29:30) = 29:30, closes min(45:00, 52:00, 44:30) = 44:30
def test_the_rinse_window_is_the_intersection_of_the_zones() -> None:
    quarters = stage(
        zone("back left", window=window(20, 30, 45)),
        zone("back right", window=window(20, 30, 45)),
        zone("front left", window=window(15, 20, 30)),
    )
    on = [
        clocks.clock(quarters, "back left", 0.0, 0.0),
        clocks.clock(quarters, "back right", 7 * MINUTE, 0.0),
        clocks.clock(quarters, "front left", 14.5 * MINUTE, 0.0),
    ]
    found = clocks.rinse_window(on)
    assert (found.opens, found.closes) == (29.5 * MINUTE, 44.5 * MINUTE)
    assert (found.opened_by, found.closed_by) == ("front left", "front left")
    assert found.fits
    assert [r.zones for r in clocks.rinses(on)] == [("front left", "back left", "back right")]


def test_an_empty_window_is_known_at_the_last_moment_it_could_be_met() -> None:
    """Worked by hand: A on at 0:00 with limit 20:00. B needs 4 minutes to put on and 5 to its
    first check, so its pass must begin by 20 - 4 - 5 = 11:00. C after B needs 3 + 5, so B must
    begin by 20 - 4 - 3 - 5 = 8:00, which decides."""
    three = stage(zone("a"), zone("b"), zone("c"))
    a = clocks.clock(three, "a", 0.0, 0.0)
    b, c = (clocks.Waiting(n, m, window()) for n, m in (("b", 4), ("c", 3)))
    assert clocks.last_moment(three, [a], [b]) == 11 * MINUTE
    assert clocks.last_moment(three, [a], [b, c]) == 8 * MINUTE
    shared = stage(zone("a"), zone("b"), zone("c"), counts_from="shared")
    assert clocks.last_moment(shared, [a], [b, c]) == 13 * MINUTE  # only on before the limit


def test_a_toner_starts_so_that_its_target_meets_the_roots() -> None:
    """Worked by hand: roots on at 2:00, target 20 -> due 22:00. A toner of 10 minutes that takes
    3 to put on begins at 22 - 10 - 3 = 9:00."""
    roots = stage(zone("roots", window=window(10, 20, 25)))
    on = [clocks.clock(roots, "roots", 2 * MINUTE, 2 * MINUTE)]
    toner = clocks.Waiting("ends", 3, window(5, 10, 20))
    assert clocks.planned_start(on, toner, own=True) == 9 * MINUTE
    assert clocks.planned_start(on, toner, own=False) is None
    assert clocks.planned_start([], toner, own=True) is None


def test_a_bowl_grows_old_by_its_own_window() -> None:
    """Mixed product ages from mixing. Common practice; the minutes are the leaflet's."""
    service = Service(recipe(stage(zone("nape"), zone("crown"), bowls=(bowl(use_within=12),))))
    service.hear("start test tap")
    service.gate()
    service.at("01:00").hear("bowl is mixed")
    service.at("02:00").hear("nape is on")
    service.at("13:00")
    assert next(at for at, text in service.said if "Root bowl is old" in text) == 13 * MINUTE
    assert "bowl" in {alarm.kind for alarm in due.alarms(service.head())}

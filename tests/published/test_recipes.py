"""The shipped recipes against published sources and common practice, and each one played.

Times and ratios of trade pages are examples; what is checked is that a recipe says what its
source says. "Common practice" marks what colourists do and no source was seen for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest

from assistant.core.clocks import MINUTE, clock, rinse_window
from assistant.core.due import alarms
from assistant.core.events import Say
from assistant.core.growth import LOUSSOUARN_2005, regrowth
from assistant.core.head import Head
from assistant.core.head_file import ZoneRun
from assistant.core.intents import Intent, Names, understand
from assistant.core.mix import mix_total
from assistant.core.peroxide import on_head
from assistant.core.recipe import Bowl, Recipe, Window, Zone
from assistant.core.script import mmss
from assistant.core.session_names import names_of
from assistant.edges.recipe_files import load_all
from assistant.edges.word_files import load_commands
from tests.core.service import Service

COMMON_PRACTICE = "common practice"
RECIPES, _ = load_all()
EACH = pytest.mark.parametrize("recipe", RECIPES.values(), ids=list(RECIPES))
WITH_AND_WITHOUT = pytest.mark.parametrize("frame", [True, False], ids=["frame", "no frame"])


def zone(recipe: str, name: str) -> Zone:
    return next(z for _, z in RECIPES[recipe].zones() if z.name == name)


def bowls(recipe: Recipe) -> Iterator[Bowl]:
    for stage in recipe.stages:
        yield from stage.bowls


def frames(*recipes: str) -> list[Zone]:
    return [zone(name, "face frame") for name in recipes]


# --------------------------------------------------------- common practice


@pytest.mark.parametrize("name", ["root tap", "dry root tap"])
def test_a_tap_puts_half_a_centimetre_on_the_root(name: str) -> None:
    assert {z.depth_cm for _, z in RECIPES[name].zones()} == {0.5}, COMMON_PRACTICE


def test_a_stretch_goes_two_to_three_centimetres_then_to_the_curve_of_the_head() -> None:
    zones = [z for _, z in RECIPES["root stretch"].zones() if z.name != "face frame"]
    assert all(2 <= z.depth_cm <= 3 for z in zones), COMMON_PRACTICE
    assert any("where the head curves" in z.technique for z in zones), COMMON_PRACTICE


def test_the_face_frame_is_done_last_or_left_out_with_a_smaller_brush() -> None:
    for name, recipe in RECIPES.items():
        stage = recipe.stages[0]
        names = [z.name for z in stage.zones]
        if "face frame" not in names:
            assert name == "regrowth touch up"  # its hairline resists and goes first
            continue
        frame = stage.zone("face frame")
        after = [z for z in stage.zones[names.index("face frame") + 1 :] if not z.wait_for_start]
        assert after == [], COMMON_PRACTICE
        assert frame.optional, COMMON_PRACTICE
        assert re.search(r"(?i)small", frame.tools), COMMON_PRACTICE
        assert "two and a half centimetres" in frame.technique, COMMON_PRACTICE


def test_the_face_frame_gets_half_a_centimetre_on_a_tap_and_one_and_a_half_on_a_stretch() -> None:
    assert {z.depth_cm for z in frames("root tap", "dry root tap")} == {0.5}, COMMON_PRACTICE
    assert {z.depth_cm for z in frames("root stretch")} == {1.5}, COMMON_PRACTICE


@pytest.mark.parametrize("name", ["root tap", "dry root tap", "root stretch", "root melt"])
def test_the_root_is_combed_neither_too_fine_nor_too_wide(name: str) -> None:
    for _, z in RECIPES[name].zones():
        if z.bowl == "root bowl":
            assert z.comb.startswith("Medium comb"), COMMON_PRACTICE
    assert "neither fine nor wide" in zone(name, "nape").comb, COMMON_PRACTICE


@pytest.mark.parametrize("name", ["root tap", "dry root tap", "root stretch", "root melt"])
def test_a_pass_never_stops_midway(name: str) -> None:
    assert "a stop leaves a line" in zone(name, "nape").watch, COMMON_PRACTICE


def test_demi_goes_on_damp_hair_and_fades_permanent_on_dry_hair_and_lasts() -> None:
    for recipe in RECIPES.values():
        product = recipe.stages[0].bowls[0].product
        if product.startswith("demi"):
            assert recipe.hair == "damp", COMMON_PRACTICE
        else:
            assert recipe.hair == "dry", COMMON_PRACTICE
    tap, dry = RECIPES["root tap"], RECIPES["dry root tap"]
    assert tap.place == "basin", COMMON_PRACTICE
    assert "fades gradually and grows out softer" in tap.why, COMMON_PRACTICE
    assert "lasts, and repairs stripes" in dry.why, COMMON_PRACTICE


def test_the_root_is_a_seven_or_eight_under_lengths_of_ten_with_violet() -> None:
    melt = RECIPES["root melt"].stages[0]
    root, toner = melt.bowl("root bowl"), melt.bowl("toner bowl")
    assert root.shade.split(".")[0] in ("7", "8"), COMMON_PRACTICE
    assert toner.shade.split(".")[0] == "10", COMMON_PRACTICE
    assert "violet" in toner.product, COMMON_PRACTICE


def test_toner_on_the_ends_gets_less_time_than_the_root() -> None:
    ends, lengths = zone("root melt", "ends").window, zone("root melt", "lengths").window
    roots = [z.window for _, z in RECIPES["root melt"].zones() if z.bowl == "root bowl"]
    assert ends.target_minutes < lengths.target_minutes, COMMON_PRACTICE
    assert lengths.target_minutes < min(w.target_minutes for w in roots), COMMON_PRACTICE
    foils = RECIPES["quarter foils"].stages[1]
    far, near = foils.zone("lengths").window, foils.zone("roots").window
    assert far.target_minutes < near.target_minutes, COMMON_PRACTICE


# --------------------------------------------------------------- published


@EACH
def test_peroxide_on_the_head_is_in_the_band_of_its_class(recipe: Recipe) -> None:
    """Hair-science handbook ch. 4 Table 5 p. 147 (library.triprinceton.org/1t0nsnb/154):
    demi 1 to 2 %, permanent and bleach 3 to 8 %."""
    for bowl in bowls(recipe):
        least, most = (1, 2) if bowl.product.startswith("demi") else (3, 8)
        strength = on_head(bowl.developer_percent, bowl.ratio).percent
        assert least <= round(strength, 9) <= most, bowl.name


def test_demi_is_mixed_one_to_two_and_stays_twenty_to_twenty_five_minutes() -> None:
    """College map goconqr.com/mindmap/7108852: 1:2, semi 20, quasi 25 minutes."""
    for name in ("root tap", "root stretch", "root melt"):
        stage = RECIPES[name].stages[0]
        assert str(stage.bowl("root bowl").ratio) == "1:2"
        assert zone(name, "nape").window.target_minutes == 20
        assert {z.window.limit_minutes for z in stage.zones if z.bowl == "root bowl"} == {25}


def test_permanent_stays_thirty_to_forty_five_minutes() -> None:
    """goconqr.com/mindmap/7108852: 1:1 for 30, 1:1.5 for 45; grey 1:1.5 for 45
    (modernsalon.com/article/15422)."""
    for name in ("dry root tap", "regrowth touch up"):
        stage = RECIPES[name].stages[0]
        assert str(stage.bowls[0].ratio) == "1:1.5"
        assert {z.window.limit_minutes for z in stage.zones} == {45}
        assert 30 <= max(z.window.target_minutes for z in stage.zones) <= 45


def test_toner_never_over_twenty_minutes() -> None:
    """oureverydaylife.com 13585533 (up to 15) and an educator's page (check every 5 to 7, porous
    hair faster); a salon blog: never over 20."""
    toned = [z for r in RECIPES.values() for _, z in r.zones() if z.bowl == "toner bowl"]
    assert len(toned) == 4
    for z in toned:
        assert z.window.limit_minutes == 20
        assert z.window.target_minutes <= 15
        assert z.window.check_every_minutes <= 7


def test_lightener_fifteen_to_forty_five_minutes_looked_at_every_five() -> None:
    """A product help page (15 to 45, check every 5, never past 45); hairsurban.com p=19616
    (first check at 20)."""
    stage = RECIPES["quarter foils"].stages[0]
    for z in stage.zones:
        assert z.window.limit_minutes == 45
        assert z.window.check_every_minutes == 5
        assert z.window.check_from_minutes <= 20


def test_foils_begin_in_the_darkest_quarters_at_the_back() -> None:
    """Magtiza, Hair Colour for Hairstylists: Level 2, BCcampus 2021, s. 4.5: dry hair, start in
    the darkest sections, usually the back two."""
    recipe = RECIPES["quarter foils"]
    names = [z.name for z in recipe.stages[0].zones]
    assert recipe.hair == "dry"
    assert set(names[:2]) == {"back left", "back right"}
    assert set(names[2:4]) == {"front left", "front right"}


def test_toner_goes_near_the_scalp_first_then_through_the_lengths() -> None:
    """An educator's page, "Guidelines for color result consistency": towel-dry, scalp area
    first, then lengths and ends."""
    toner = RECIPES["quarter foils"].stages[1]
    assert [z.name for z in toner.zones] == ["roots", "lengths"]
    assert "Towel dry first" in toner.zone("roots").technique


def test_a_touch_up_starts_where_hair_resists() -> None:
    """quizlet.com/6005402: resistant areas are often the hairline and temples. Under one total
    the first zone has the longest time."""
    assert RECIPES["regrowth touch up"].stages[0].zones[0].name == "hairline"


def test_a_touch_up_uses_quarter_inch_partings() -> None:
    """quizlet.com/7956074 (textbook ch. 21): retouch in 1/4-inch (6.35 mm) partings."""
    for z in RECIPES["regrowth touch up"].stages[0].zones:
        assert z.section_mm == pytest.approx(6.35, abs=0.5)


def test_a_touch_up_is_as_deep_as_six_weeks_of_growth() -> None:
    """Loussouarn 2005, Int J Dermatol 44 s1:6-9: 280 to 411 microns a day."""
    grown = [regrowth(42, rate).mm for rate in LOUSSOUARN_2005.values()]
    for z in RECIPES["regrowth touch up"].stages[0].zones:
        assert min(grown) <= z.depth_cm * 10 <= max(grown)


@pytest.mark.parametrize("delay", [5, 10, 20])
def test_one_total_counts_the_time_of_the_earlier_zone(delay: int) -> None:
    """black-hair-news.blogspot.com Nov 2011: root about 20 minutes later, and the recommended
    time includes those 20."""
    stage = RECIPES["regrowth touch up"].stages[0]
    first = clock(stage, "hairline", 0, 0)
    later = clock(stage, "nape", delay * MINUTE, 0)
    assert later.target_at == first.target_at
    assert later.target_at - later.started_at == (40 - delay) * MINUTE
    assert later.limit_at == first.limit_at == 45 * MINUTE


# ------------------------------------------------------------- every recipe


@EACH
def test_every_time_and_ratio_has_a_source_that_defers_to_the_leaflet(recipe: Recipe) -> None:
    sourced: list[Bowl | Window] = [*bowls(recipe), *(z.window for _, z in recipe.zones())]
    for item in sourced:
        assert item.source.endswith("(example, read the leaflet)")
        assert (item.grade == "P") == item.source.startswith(COMMON_PRACTICE)
        assert item.grade in ("P", "C")  # no law or standard gives minutes


@EACH
def test_cautions_defer_to_leaflet_local_codes_and_licensed_practice(recipe: Recipe) -> None:
    text = " ".join(recipe.cautions)
    for part in (
        "leaflet",
        "local codes",
        "Alert test",
        "Wear gloves",
        "licensed",
        "rinse at once",
    ):
        assert part in text
    assert recipe.choose_when
    assert recipe.speaks_against
    assert recipe.home_care


@EACH
def test_a_trainee_hears_a_reason_and_a_question_for_every_step(recipe: Recipe) -> None:
    assert len(recipe.finish_why) == len(recipe.finish)
    for stage in recipe.stages:
        assert stage.rinse_why
        for part in (*stage.bowls, *stage.zones):
            assert part.why, part.name
            assert part.challenged() is not None, part.name


@EACH
def test_every_bowl_is_weighed_on_a_scale_of_whole_grams(recipe: Recipe) -> None:
    for bowl in bowls(recipe):
        weighed = mix_total(bowl.grams, bowl.ratio)
        assert weighed.total_error_grams == 0
        assert weighed.developer.error_grams == 0


def spoken(recipe: Recipe) -> Iterator[str]:
    """Every text of a recipe that the program may say as a sentence of its own."""
    yield recipe.why
    yield from (*recipe.finish, *recipe.finish_why)
    for stage in recipe.stages:
        yield from (stage.rinse, stage.rinse_why)
        yield from (bowl.why for bowl in stage.bowls)
        for z in stage.zones:
            yield from (z.tools, z.comb, z.technique, z.watch, z.why)


@EACH
def test_what_is_spoken_is_short_and_reads_well(recipe: Recipe) -> None:
    for text in spoken(recipe):
        assert 1 <= len(text.split()) <= 12, text
        assert re.fullmatch(r"[A-Z][a-z]*(?:,? [a-z]+)*", text), text  # no digit, sign, full stop


# These answer a question of ours; said at any other time they do nothing.
VALUES = ("which_number", "which_chair", "lesson_ratio")


def commands_in(text: str, names: Names) -> list[Intent]:
    """Every whole command among the words, but for a bare number, ratio or chair."""
    words, tokens = load_commands(), re.findall(r"[a-z']+", text.lower())
    found = []
    for start in range(len(tokens)):
        for end in range(start + 1, len(tokens) + 1):
            part = " ".join(tokens[start:end])
            meant = understand(part, words, names, "open", woken=True)
            if isinstance(meant, Intent) and meant.name not in VALUES:
                found.append(meant)
    return found


@EACH
def test_nothing_that_is_spoken_holds_a_command_or_the_wake_word(recipe: Recipe) -> None:
    words = load_commands()
    names = names_of(words, RECIPES, 4)
    for text in spoken(recipe):
        assert commands_in(text, names) == [], text
        assert words.wake not in text.lower().split()


def test_a_command_inside_a_sentence_would_be_seen() -> None:
    names = names_of(load_commands(), RECIPES, 4)
    assert [i.name for i in commands_in("Tell them the crown is on by now", names)] == ["zone_on"]


def test_names_are_short_and_no_name_begins_another() -> None:
    for recipe in RECIPES.values():
        for stage in recipe.stages:
            said = [*(z.name for z in stage.zones), *(b.name for b in stage.bowls)]
            assert all(len(name.split()) <= 2 for name in said)
            for one in said:
                assert not any(other.startswith(f"{one} ") for other in said), one
    assert {b.name for r in RECIPES.values() for b in bowls(r)} <= {
        "root bowl",
        "toner bowl",
        "lightener bowl",
    }


# ------------------------------------------------- played at the planned pace


class Played:
    """A whole service, typed, with every pass as long as planned and every call answered."""

    def __init__(self, recipe: Recipe, frame: bool, slower: float = 1.0) -> None:
        self.frame, self.slower = frame, slower
        self.service = Service(recipe)
        self.windows: list[tuple[float, float]] = []  # rinse began, window closed
        self.targets: list[float] = []  # latest target of a stage less its closing
        self.service.hear(f"start {recipe.name}")
        self._after(2)
        self.service.gate()
        self.head: Head = self.service.head()
        while self.head.state != "closed":
            getattr(self, f"_{self.head.step().kind}")()
        self.minutes = self.service.now / MINUTE

    def told(self) -> list[str]:
        """The names of everything it said, in order."""
        return [effect.phrase for effect in self.service.effects if isinstance(effect, Say)]

    @property
    def calls(self) -> list[str]:
        return [text for _, text in self.service.said if text.startswith("Chair one. ")]

    def _after(self, minutes: float) -> None:
        self.service.at(mmss(self.service.now + minutes * MINUTE))

    def _mix(self) -> None:
        self._after(1.5)
        self.service.hear(f"{self.head.step().subject} is mixed")

    def _place(self) -> None:
        run = self.head.zone(self.head.step().subject)
        assert run is not None
        if run.zone.optional and not self.frame:
            self.service.hear(f"leave out the {run.zone.name}")
            return
        self._wait_for(run)
        self.service.hear(f"starting {run.zone.name}")
        self._after(run.zone.apply_minutes * self.slower)
        self.service.hear(f"{run.zone.name} is on")

    def _wait_for(self, run: ZoneRun) -> None:
        begin = [a.at for a in alarms(self.head) if (a.kind, a.subject) == ("start", run.zone.name)]
        if begin and begin[0] > self.service.now:
            self._after((begin[0] - self.service.now) / MINUTE)

    def _develop(self) -> None:
        clocks = [self.head.clock(run) for run in self.head.running()]
        window = rinse_window(clocks)
        target = max(c.target_at for c in clocks)
        self.targets.append(target - window.closes)
        self.service.at(mmss(max(window.opens, min(target, window.closes - MINUTE))))
        self.windows.append((self.service.now, window.closes))
        self.service.hear("rinsing now")

    def _rinse(self) -> None:
        self._after(4)
        self.service.hear("all rinsed")

    def _finish(self) -> None:
        self._after(3)
        self.service.hear("next step")


@EACH
@WITH_AND_WITHOUT
def test_one_rinse_serves_every_zone_at_the_planned_pace(recipe: Recipe, frame: bool) -> None:
    played = Played(recipe, frame)
    assert len(played.windows) == len(recipe.stages)
    for began, closes in played.windows:
        assert began < closes
    assert all(over <= 0 for over in played.targets)  # every zone reaches its target first
    told = played.told()
    for bad in ("call_limit", "call_limit_late", "call_pace", "call_bowl", "no_single_rinse"):
        assert bad not in told
    assert played.head.state == "closed"


@EACH
def test_a_hand_four_times_slower_is_warned_before_any_limit(recipe: Recipe) -> None:
    """CV20's case (a client's account, erstwhilelibrarian.blogspot.com Apr 2007): foils rinsed
    together too late. It must be said while the first zone is still inside its limit."""
    told = Played(recipe, frame=True, slower=4).told()
    assert "call_pace" in told
    assert told.index("call_pace") < told.index("call_limit")


@WITH_AND_WITHOUT
def test_a_root_tap_takes_about_forty_five_minutes(frame: bool) -> None:
    assert 38 <= Played(RECIPES["root tap"], frame).minutes <= 48, COMMON_PRACTICE


@WITH_AND_WITHOUT
def test_the_melt_calls_for_the_toner_and_both_finish_in_one_window(frame: bool) -> None:
    played = Played(RECIPES["root melt"], frame)
    for name in ("Lengths", "Ends"):
        assert f"Chair one. {name}. Put it on now." in played.calls
    starts = [run.on_at for run in played.head.file.zones if run.on_at is not None]
    assert all(before < after for before, after in pairwise(starts))
    targets = [
        played.head.clock(run).target_at for run in played.head.file.zones if run.on_at is not None
    ]
    assert max(targets) - min(targets) <= 5 * MINUTE

"""Which alarms the facts of a head give, and from when."""

from __future__ import annotations

from assistant.core import due
from assistant.core.clocks import MINUTE
from assistant.core.due import Alarm
from assistant.core.recipe import Recipe
from tests.core.recipes import TWO_ZONES, bowl, recipe, stage, window, zone
from tests.core.service import Service

THREE_ZONES = recipe(stage(zone("nape"), zone("crown"), zone("sides")))


def served(book: Recipe, **on: str) -> Service:
    """Opened and mixed at 0:00, and these zones on at these times."""
    service = Service(book)
    service.hear("start test tap")
    service.gate()
    service.hear("root bowl is mixed")
    for name, time in on.items():
        service.at(time).hear(f"{name} is on")
    return service


def minutes(service: Service, kind: str) -> dict[str, float]:
    """Of one kind of alarm: about what, and from which minute on."""
    found = due.alarms(service.head())
    return {alarm.subject: alarm.at / MINUTE for alarm in found if alarm.kind == kind}


def test_a_limit_is_announced_three_minutes_before_and_not_earlier() -> None:
    service = served(TWO_ZONES, nape="10:00", crown="12:00").at("30:00")
    first = next(at for at, text in service.said if "Nape" in text and "to limit" in text)
    assert first == 27 * MINUTE


def test_a_zone_put_on_with_three_minutes_left_is_not_announced_at_once() -> None:
    """Its limit was just read back. One that had a second more has its call."""
    timed = window(check=5, target=15, limit=20)
    shared = stage(*(zone(n, window=timed) for n in ("nape", "crown")), counts_from="shared")
    assert minutes(served(recipe(shared), nape="01:00", crown="18:00"), "near") == {"nape": 18}
    assert set(minutes(served(recipe(shared), nape="01:00", crown="17:59"), "near")) == {
        "nape",
        "crown",
    }


def test_a_zone_that_is_ready_is_not_asked_after_and_keeps_its_limit() -> None:
    service = served(TWO_ZONES, nape="01:00", crown="02:00").at("07:00")
    service.hear("nape is ready")
    assert set(minutes(service, "due")) == set(minutes(service, "window")) == {"crown"}
    assert minutes(service, "limit") == {"nape": 21, "crown": 22}
    assert minutes(service, "near") == {"nape": 18, "crown": 19}


def test_a_look_put_off_to_the_target_or_past_it_is_one_call_that_it_is_due() -> None:
    service = served(TWO_ZONES, nape="01:00", crown="02:00").at("06:00")
    service.hear("give nape five minutes")  # 11:00 is its target
    assert "nape" not in {**minutes(service, "check"), **minutes(service, "window")}
    assert minutes(service, "due") == {"nape": 11, "crown": 12}
    service.hear("give nape eleven minutes")
    assert "nape" not in {**minutes(service, "check"), **minutes(service, "window")}
    assert minutes(service, "due") == {"nape": 17, "crown": 12}


def test_a_stopped_or_closed_service_gives_no_advice_about_what_will_not_go_on() -> None:
    burned = served(TWO_ZONES, nape="01:00").at("02:00")
    assert minutes(burned, "bowl")
    assert minutes(burned, "pace")
    burned.hear("it burns")
    assert set(minutes(burned, "burns")) == {""}
    burned.hear("rinsing now")
    assert not minutes(burned, "burns")  # though the crown was never on
    ended = served(TWO_ZONES).at("02:00")
    assert minutes(ended, "bowl")
    ended.hear("end this service")
    ended.hear("confirm chair one")
    for service in (burned, ended):
        assert not minutes(service, "bowl") | minutes(service, "pace") | minutes(service, "start")


# ------------------------------------------------------------ one rinse for all


def test_a_pass_that_began_in_time_is_late_only_once_it_has_taken_longer_than_planned() -> None:
    """Nape's limit is 22:00. The crown takes 4 and its first check is 5 later: 13:00."""
    service = served(TWO_ZONES).at("01:00")
    service.hear("starting nape")
    service.at("02:00").hear("nape is on")
    service.head().file.zones[0].pass_began_at = -2 * MINUTE  # at the recipe's pace
    assert minutes(service, "pace") == {"nape": 13}
    service.at("13:00").hear("starting crown")
    assert minutes(service, "pace") == {"nape": 17}
    late = served(TWO_ZONES, nape="02:00").at("13:01")
    late.hear("starting crown")
    assert minutes(late, "pace") == {"nape": 13}


def test_a_hand_that_was_slow_has_to_begin_the_last_pass_earlier() -> None:
    """The nape took six minutes instead of four: 27:00 - 5 - 6."""
    service = served(TWO_ZONES).at("01:00")
    service.hear("starting nape")
    service.at("07:00").hear("nape is on")
    assert minutes(service, "pace") == {"nape": 16}
    service.at("16:00").hear("starting crown")
    assert minutes(service, "pace") == {"nape": 22}


def test_a_zone_that_may_be_left_out_is_waited_for_only_once_it_is_begun() -> None:
    book = recipe(stage(zone("nape"), zone("ends", optional=True)))
    service = served(book, nape="02:00").at("03:00")
    assert minutes(service, "pace") == {}
    service.hear("starting ends")
    assert minutes(service, "pace") == {"nape": 17}


def test_a_bowl_grows_old_only_while_a_zone_waits_for_it() -> None:
    both = (bowl(), bowl("end bowl"))
    book = recipe(stage(zone("nape"), zone("ends", "end bowl"), bowls=both))
    service = served(book)
    assert minutes(service, "bowl") == {"root bowl": 30}
    service.at("02:00").hear("nape is on")
    service.hear("end bowl is mixed")
    assert minutes(service, "bowl") == {"end bowl": 32}
    service.hear("ends is on")
    assert minutes(service, "bowl") == {}


def test_a_rinse_of_its_own_is_told_of_the_zone_that_has_to_be_off_first() -> None:
    service = served(THREE_ZONES, nape="02:00", crown="09:00")
    (pace,) = [a for a in due.alarms(service.head()) if a.kind == "pace"]
    assert (pace.subject, pace.at, pace.limit_at) == ("nape", 13 * MINUTE, 22 * MINUTE)
    crown_first = served(THREE_ZONES, crown="02:00", nape="09:00")
    assert minutes(crown_first, "pace") == {"crown": 13}


def test_the_last_zone_on_leaves_nothing_to_be_late_for() -> None:
    assert minutes(served(recipe(stage(zone("nape"))), nape="02:00"), "pace") == {}
    assert minutes(served(TWO_ZONES), "pace") == {}


# ------------------------------------------------------------ zones that wait for their start

ENDS_LATER = recipe(
    stage(
        zone("nape", window=window(12, 20, 25)),
        zone("ends", window=window(5, 10, 20), wait_for_start=True),
    )
)


def test_a_zone_that_waits_is_called_to_its_start_until_its_pass_begins() -> None:
    """Nape on at 2:00, due 22:00; the ends need ten minutes and a pass of four: 8:00."""
    service = served(ENDS_LATER, nape="02:00")
    assert minutes(service, "start") == {"ends": 8}
    service.at("08:00").hear("starting ends")
    assert minutes(service, "start") == {}


def test_a_hand_that_was_slow_is_called_to_the_start_earlier() -> None:
    """The nape took six minutes instead of four, so the ends will take six too."""
    service = served(ENDS_LATER).at("01:00")
    service.hear("starting nape")
    service.at("07:00").hear("nape is on")
    assert minutes(service, "start") == {"ends": 7 + 20 - 10 - 6}


def test_what_waits_for_nothing_is_not_called_to_a_start() -> None:
    assert minutes(served(TWO_ZONES, nape="02:00"), "start") == {}


# ------------------------------------------------------------ which of them count


def test_the_strongest_alarm_of_a_zone_hides_its_milder_ones_and_a_burn_all_of_its_head() -> None:
    def alarm(kind: due.Kind, subject: str, head: int = 1) -> Alarm:
        return Alarm(kind, head, head, subject, 10.0)

    limit, bowl, other = alarm("limit", "nape"), alarm("bowl", "root bowl"), alarm("due", "nape", 2)
    mild = [alarm(kind, "nape") for kind in ("check", "due", "near")]
    crown = alarm("check", "crown")
    assert due.true_now([*mild, limit, crown, bowl, other], 10.0) == [limit, crown, bowl, other]
    assert due.true_now([*mild, other], 10.0) == [mild[2], other]
    burns = alarm("burns", "")
    assert due.true_now([limit, bowl, burns, other], 10.0) == [burns, other]


def test_a_check_put_off_is_a_new_call_and_a_limit_is_always_the_same_one() -> None:
    def name(kind: due.Kind, at: float) -> str:
        return Alarm(kind, 1, 1, "left side", at).key

    assert name("check", 60.0) != name("check", 120.0)
    assert name("limit", 60.0) == name("limit", 120.0)
    assert " " not in name("limit", 60.0)  # several names stand in one line


# ------------------------------------------------------------ a head that cannot be worked out


def bare(service: Service) -> dict[str, float]:
    return {a.subject: a.at / MINUTE for a in due.bare_limits(service.head())}


def test_the_limits_of_a_head_that_cannot_be_worked_out_are_those_it_had() -> None:
    service = served(THREE_ZONES, nape="02:00", crown="09:00")
    assert bare(service) == {"": 0, "nape": 22, "crown": 29}
    service.at("10:00").hear("rinsing nape")
    assert bare(service) == {"": 0, "nape": 22, "crown": 29}  # until it is off
    service.hear("nape is rinsed")
    assert bare(service) == {"": 0, "crown": 29}


def test_under_a_shared_total_they_count_from_the_first_zone_of_their_stage() -> None:
    shared = stage(zone("nape"), zone("crown"), counts_from="shared")
    service = served(recipe(shared), crown="02:00", nape="05:00")
    assert bare(service) == {"": 0, "nape": 22, "crown": 22}
    assert minutes(service, "limit") == {"nape": 22, "crown": 22}

"""Who looks after a chair, and coming back to one in the middle of its routine."""

from __future__ import annotations

import pytest

from tests.core.recipes import TWO_ZONES
from tests.core.service import Service


def test_an_assistant_may_check_and_rinse_but_not_stop_or_go_on() -> None:
    service = Service(TWO_ZONES).nape_on()
    assert "assistant" in service.hear("chair one is for the assistant")[0]
    for refused in ("starting crown", "stop the clock on nape", "end this service"):
        assert service.hear(refused) == ["The assistant has chair one. Take it back first."]
    assert service.head().file.zones[1].pass_began_at is None
    assert service.hear("nape is ready")[0].startswith("Nape ready")
    assert service.hear("how long")[0].startswith("Nape: on for")
    service.hear("rinsing now")
    assert service.head().file.zones[0].rinsing_at is not None


def test_taken_back_everything_is_taken_again_and_the_step_is_told() -> None:
    service = Service(TWO_ZONES).nape_on()
    service.hear("chair one is for the assistant")
    answer = service.hear("chair one is for the stylist")
    assert answer == [
        "Chair one goes back to the stylist.",
        "Next, crown: half a centimetre from the scalp.",
    ]
    assert service.hear("starting crown") == ["Quiet for the crown."]


def test_it_burns_is_taken_from_anybody() -> None:
    service = Service(TWO_ZONES).nape_on()
    service.hear("chair one is for the assistant")
    service.hear("it burns")
    assert service.head().state == "stopped"


def test_the_stylist_is_called_until_somebody_answers_and_again_when_asked_again() -> None:
    service = Service(TWO_ZONES).nape_on()
    asked = "Chair one. Stylist, you are needed here."
    assert service.hear("ask the stylist") == [asked]
    assert service.at("03:31").calls("03:01") == [asked]
    service.hear("heard you")
    assert asked not in service.at("05:00").calls("03:32")
    assert service.hear("ask the stylist") == [asked]
    service.hear("stylist is here")
    assert asked not in service.at("07:00").calls("05:01")


@pytest.mark.parametrize(
    ("before", "told"),
    [
        ((), ["Back to chair one, step eight: crown.", "Next, crown: half a centimetre from the"]),
        (("starting crown",), ["Back to chair one, step eight: crown.", "Tell me when the crown"]),
        (("no more",), ["Back to chair one, step eight: crown.", "Next, crown"]),
    ],
)
def test_where_are_we_goes_back_to_the_step(before: tuple[str, ...], told: list[str]) -> None:
    service = Service(TWO_ZONES).nape_on()
    for line in before:
        service.hear(line)
    answer = service.hear("where are we")
    assert all(a.startswith(t) for a, t in zip(answer, told, strict=True))

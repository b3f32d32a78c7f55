"""The table of calls taken alone: rhythms, pauses, what is said in one breath, what comes back.

The rhythms are those the head of `core/calls.py` promises; a change of either is a change of both.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from assistant.core.call import Call, Spoken
from assistant.core.calls import CallTable
from assistant.core.due import Alarm, Kind
from assistant.core.events import Priority

ZONES = ("nape", "crown", "fringe", "sides", "ends")


def alarm(
    kind: Kind, subject: str = "nape", at: float = 0.0, chair: int = 1, **more: float
) -> Alarm:
    return Alarm(kind, chair, chair + 10, subject, at, **more)


class Bell:
    """A table whose alarms come true one after another; each sentence ends at once."""

    def __init__(self, *alarms: Alarm) -> None:
        self.table, self.alarms, self.now = CallTable(), list(alarms), 0.0
        self.held: tuple[int, ...] = ()
        self.said: list[tuple[float, Spoken]] = []

    def run(self, until: float) -> Bell:
        """Say what is due up to a moment, and at it."""
        self.look()
        while self.now < until:
            coming = [a.at for a in self.alarms if a.at > self.now]
            again = self.table.next_moment(self.now, self.held)
            moment = min([*coming, *([again] if again is not None else [])], default=until)
            self.now = min(moment, until)
            self.look()
        return self

    def look(self) -> Bell:
        true = [a for a in self.alarms if a.at <= self.now]
        self.table.update(true, self.alarms, self.now)
        found = self.table.to_say(self.alarms, self.now, self.held)
        self.said += [(self.now, spoken) for spoken in found]
        self.table.ended([alarm.key for spoken in found for alarm in spoken.alarms])
        return self

    def times(self, kind: str = "", tone: bool | None = None) -> list[float]:
        """When anything, or a kind, was said; only in words, or only as a tone."""
        return [
            at
            for at, spoken in self.said
            if kind in ("", *(a.kind for a in spoken.alarms)) and tone in (None, spoken.tone_only)
        ]

    def subjects(self) -> list[list[str]]:
        return [[a.subject for a in spoken.alarms] for _, spoken in self.said]


# ------------------------------------------------------------------ rhythms


@pytest.mark.parametrize(
    ("kind", "moments"),
    [
        ("limit", [0, 10, 20, 30, 40, 50, 60, 70]),
        ("due", [0, 30, 60, 120, 180, 240]),
        ("bowl", [0, 60]),  # foreseen: twice, then left to the board
        ("pace", [0]),  # nothing can be done about it
        ("check", [0, 60]),
        ("window", [0, 60]),
    ],
)
def test_each_kind_has_its_rhythm(kind: Kind, moments: list[float]) -> None:
    until = 75 if kind == "limit" else 290
    assert Bell(alarm(kind)).run(until).times() == moments


def test_a_limit_sounds_by_turns_in_words_and_as_its_tone_alone() -> None:
    bell = Bell(alarm("limit")).run(55)
    assert bell.times(tone=False) == [0, 20, 40]
    assert bell.times(tone=True) == [10, 30, 50]


def test_a_call_tells_how_often_it_was_said_before() -> None:
    assert [s.repeat for _, s in Bell(alarm("due")).run(130).said] == [0, 1, 2, 3]
    assert [s.repeat for _, s in Bell(alarm("limit")).run(25).said] == [0, 1, 2]


def test_a_call_that_was_never_said_comes_at_once_and_first() -> None:
    bell = Bell(alarm("due"), alarm("limit", "crown", 5, chair=2)).run(5)
    assert bell.times("limit") == [5]
    mixed = Bell(alarm("check", chair=1), alarm("due", chair=2), alarm("limit", chair=3)).run(0)
    assert [s.priority for _, s in mixed.said] == [Priority.LIMIT, Priority.DUE, Priority.CHECK]


def test_a_new_limit_starts_the_rhythm_of_all_limits_anew() -> None:
    bell = Bell(alarm("limit"), alarm("limit", "crown", 15, chair=2)).run(36)
    assert bell.times(tone=False) == [0, 15, 35]
    assert bell.times(tone=True) == [10, 25]  # its words were just said: the tone will do
    assert bell.said[-1][1].repeat == 3  # the one that was said most often tells


def test_however_many_limits_come_new_none_is_silent_for_more_than_twenty_seconds() -> None:
    others = [alarm("limit", chair=chair, at=9.0 * chair) for chair in range(1, 8)]
    bell = Bell(alarm("limit", "crown", chair=9), *others).run(90)
    own = [at for at, spoken in bell.said if any(a.chair == 9 for a in spoken.alarms)]
    assert max(after - before for before, after in pairwise(own)) == 20
    new = [at for at, spoken in bell.said if spoken.repeat == 0]
    assert new == [0, 9, 18, 27, 36, 45, 54, 63]


def test_a_limit_that_was_put_off_is_no_reason_to_hurry() -> None:
    table = CallTable()
    table.update([first := alarm("limit", chair=1)], [first], 0)
    table.to_say([first], 0)
    table.heard(1, 1)
    table.update([first, second := alarm("limit", chair=2, at=30)], [first, second], 30)
    assert [s.repeat for s in table.to_say([first, second], 30)] == [0]
    assert table.next_moment(30) == 40


def test_repeated_sentences_leave_fifteen_seconds_to_answer() -> None:
    """Three chairs due at once: new calls at once, their repeats one at a time."""
    bell = Bell(*(alarm("due", chair=chair) for chair in (1, 2, 3))).run(60)
    assert bell.times() == [0, 0, 0, 30, 45, 60]
    assert [s.chair for _, s in bell.said[3:6]] == [1, 2, 1]


def test_while_a_limit_sounds_nothing_else_is_said_twice_until_it_is_heard() -> None:
    bell = Bell(alarm("due"), alarm("limit", "crown", chair=2)).run(65)
    assert bell.times("due") == [0]
    bell.table.heard(2, 65)
    assert bell.run(70).times("due") == [0, 65]


# ------------------------------------------------------------------ one breath


def test_what_is_due_at_one_head_within_a_minute_is_one_sentence() -> None:
    near = Bell(alarm("due"), alarm("due", "crown", 60), alarm("due", "sides", 60.5)).run(0)
    assert near.subjects() == [["nape", "crown"]]


def test_a_call_said_early_is_not_new_when_its_moment_comes() -> None:
    bell = Bell(alarm("due"), alarm("due", "crown", 20)).run(29)
    assert bell.times() == [0]
    assert [a.subject for a in bell.table.up()] == ["nape", "crown"]
    assert bell.run(30).said[-1][1].repeat == 1


def test_a_zone_said_early_to_be_due_is_not_called_for_a_check_after_it() -> None:
    """The crown's check would be said again at 60; at 50 it was told due, ten seconds early."""
    bell = Bell(
        alarm("check", "crown"), alarm("check", "ends", 30),
        alarm("due", "nape", 50), alarm("due", "crown", 70),
    ).run(50)  # fmt: skip
    assert bell.subjects() == [["crown", "ends"], ["nape", "crown"]]
    bell.run(66)
    assert [a.subject for a in bell.said[-1][1].alarms] == ["ends"]  # its own check comes again


def test_a_call_said_early_ends_when_its_moment_is_no_longer_to_come() -> None:
    bell = Bell(nape := alarm("due"), crown := alarm("due", "crown", 20)).run(5)
    assert bell.table.update([nape], [nape, crown], 6) == []
    assert bell.table.update([nape], [nape], 7) == [crown.key]
    assert bell.table.up() == [nape]
    assert bell.table.update([], [], 8) == [nape.key]


def test_a_moment_that_has_passed_and_is_not_true_keeps_no_call_up() -> None:
    """An alarm hidden by a stronger one is known, has passed and is not true."""
    table = CallTable()
    table.update([near := alarm("near", at=5)], [near], 5)
    assert table.update([], [near], 5) == [near.key]


@pytest.mark.parametrize(
    "other",
    [
        alarm("due", "crown", 20, chair=2),
        alarm("check", "crown", 20),
        alarm("due", "nape", 20),  # the same zone again is a call of its own
        Alarm("due", 1, 99, "crown", 20),  # the next client of that chair
    ],
)
def test_other_heads_and_other_families_have_their_own_sentence(other: Alarm) -> None:
    assert [len(s.alarms) for _, s in Bell(alarm("due"), other).run(0).said] == [1]


def test_a_limit_never_waits_for_another_and_is_never_said_early() -> None:
    bell = Bell(alarm("limit"), alarm("limit", "crown", 30)).run(0)
    assert bell.subjects() == [["nape"]]


def test_checks_and_windows_are_one_family() -> None:
    assert Bell(alarm("check"), alarm("window", "crown", 30)).run(0).subjects() == [
        ["nape", "crown"]
    ]


def test_three_names_are_enough_for_one_sentence_and_none_is_lost() -> None:
    bell = Bell(*(alarm("due", name, 0, limit_at=n) for n, name in enumerate(ZONES))).run(0)
    assert bell.subjects() == [["nape", "crown", "fringe"]]
    assert bell.look().subjects() == [["nape", "crown", "fringe"], ["sides", "ends"]]


def test_a_repeat_takes_the_other_calls_of_its_head_along() -> None:
    """The nape alone would be said at 120, the crown (said early at 60) at 90: both at 90."""
    bell = Bell(alarm("due", limit_at=1), alarm("due", "crown", 95, limit_at=2)).run(130)
    assert bell.times() == [0, 30, 60, 90, 120]
    assert bell.subjects()[:3] == [["nape"], ["nape"], ["nape", "crown"]]
    assert bell.subjects()[3:] == [["crown", "nape"], ["crown", "nape"]]
    assert [s.repeat for _, s in bell.said] == [0, 1, 2, 1, 2]  # that of the first named


def test_a_call_that_nobody_heard_is_not_taken_along_but_shown_in_its_turn() -> None:
    bell = Bell(alarm("due", limit_at=1), crown := alarm("due", "crown", limit_at=2)).run(25)
    bell.table.unheard([crown.key], 25)
    bell.run(35)
    assert [(at, s.repeat) for at, s in bell.said] == [(0, 0), (30, 1), (35, 0)]
    assert bell.subjects()[1:] == [["nape"], ["crown"]]


def test_settled_advice_is_not_taken_along() -> None:
    bell = Bell(alarm("check", at=0), alarm("check", "crown", 61)).run(30)
    bell.table.heard(1, 30)
    bell.run(121)
    assert bell.subjects() == [["nape"], ["crown"], ["crown"]]


# ------------------------------------------------------------------ limits at several chairs


def test_limits_of_one_kind_are_repeated_together_by_slack() -> None:
    late, soon = alarm("limit", limit_at=9), alarm("limit", "crown", chair=2, limit_at=3)
    bell = Bell(late, soon).run(20)
    assert bell.subjects() == [["crown"], ["nape"], ["crown", "nape"], ["crown", "nape"]]
    assert [s.tone_only for _, s in bell.said] == [False, False, True, False]
    assert [s.chair for _, s in bell.said] == [2, 1, None, None]


def test_kinds_of_priority_one_take_turns_in_words() -> None:
    """The burn was said last, so the limit is next; the tone between them is for both."""
    bell = Bell(alarm("limit", "crown"), alarm("burns", "", 5, chair=2)).run(45)
    words = [[a.kind for a in s.alarms] for _, s in bell.said if not s.tone_only]
    assert words == [["limit"], ["burns"], ["limit"], ["burns"]]
    assert all(len(s.alarms) == 2 for _, s in bell.said if s.tone_only)


def test_the_tone_alone_will_not_do_for_a_call_whose_words_nobody_heard() -> None:
    bell = Bell(one := alarm("limit"), alarm("limit", "crown", chair=2)).run(0)
    bell.table.cut([one.key], 0.5)
    assert bell.run(1.5).said[-1][1] == Spoken((one,), 0)
    bell.run(22).table.unheard([one.key], 22.0)  # shown again from 32 on
    assert bell.run(31.5).said[-1][1].tone_only
    assert not bell.run(41.5).said[-1][1].tone_only


def test_after_its_pause_a_limit_is_said_in_words_though_another_has_its_tone_next() -> None:
    bell = Bell(alarm("limit"), alarm("limit", "crown", chair=2)).run(5)
    bell.table.heard(1, 5)
    assert bell.run(64).times(tone=True) == [10, 30, 50]
    assert bell.run(70).said[-1][1].tone_only is False
    assert bell.subjects()[-2:] == [["crown"], ["nape", "crown"]]


# ------------------------------------------------------------------ heard and quiet


def test_heard_silences_a_limit_for_a_minute_and_then_it_is_said_in_words() -> None:
    bell = Bell(alarm("limit")).run(5)
    assert [a.kind for a in bell.table.heard(1, 5)] == ["limit"]
    bell.run(80)
    assert bell.times() == [0, 65, 75]
    assert bell.times(tone=False) == [0, 65]


def test_heard_silences_what_is_due_for_a_minute_and_settles_advice() -> None:
    bell = Bell(alarm("due"), alarm("check", "crown"), alarm("bowl", "root bowl")).run(5)
    assert len(bell.table.heard(None, 5)) == 3
    assert bell.run(300).times()[3:] == [65, 95, 155, 215, 275]
    assert {a.kind for _, s in bell.said[3:] for a in s.alarms} == {"due"}


def test_heard_at_one_chair_is_not_heard_at_another_and_chair_nought_is_the_room() -> None:
    lost = Alarm("microphone", None, 0, "microphone", 0)
    bell = Bell(alarm("due"), alarm("due", chair=2), lost).run(0)
    assert [a.chair for a in bell.table.heard(2, 1)] == [2]
    assert bell.table.heard(0, 1) == [lost]
    assert bell.table.heard(3, 1) == []


def test_what_was_not_said_yet_cannot_have_been_heard() -> None:
    bell = Bell(alarm("check"))
    bell.held = (11,)
    assert bell.run(5).table.heard(None, 5) == []
    bell.held = ()
    assert bell.look().times() == [5]


def test_quiet_holds_everything_for_two_minutes_but_a_limit() -> None:
    bell = Bell(alarm("due"), alarm("check", at=20, chair=2), alarm("limit", at=30, chair=3))
    bell.run(10).table.quiet(10)
    bell.run(40)
    assert bell.times("limit") == [30, 40]
    assert bell.times("due") == [0]
    bell.alarms = [a for a in bell.alarms if a.kind != "limit"]
    bell.run(200)
    assert bell.times("check")[0] == 130
    assert bell.times("due")[:2] == [0, 130]


# ------------------------------------------------------------------ cut, unheard, away


def test_what_was_cut_comes_back_in_a_second_as_if_it_had_not_been_said() -> None:
    bell = Bell(due := alarm("due")).run(2)
    bell.table.cut([due.key], 2)
    assert bell.run(5).times() == [0, 3]
    assert [s.repeat for _, s in bell.said] == [0, 0]


def test_a_limit_cut_the_first_time_comes_back_at_once_and_goes_on_from_there() -> None:
    bell = Bell(limit := alarm("limit")).run(4)
    bell.table.cut([limit.key], 4)
    bell.run(25)
    assert bell.times(tone=False) == [0, 4, 24]
    assert bell.times(tone=True) == [14]


def test_a_repeat_of_a_limit_that_was_cut_is_in_words_after_a_second() -> None:
    bell = Bell(limit := alarm("limit")).run(21)  # words, tone, words
    bell.table.cut([limit.key], 21)
    assert bell.run(29).times(tone=False) == [0, 20, 22]


def test_words_of_a_limit_cut_at_their_end_are_not_followed_by_the_tone() -> None:
    bell = Bell(limit := alarm("limit")).run(29.5)  # words at 20, the tone would be next
    bell.table.cut([limit.key], 29.5)
    assert bell.run(30).times(tone=False) == [0, 20, 30]


def test_a_cut_never_puts_a_limit_off() -> None:
    bell = Bell(limit := alarm("limit")).run(19.5)
    bell.table.cut([limit.key], 19.5)
    assert bell.run(20).times() == [0, 10, 20]


def test_a_limit_cut_in_words_comes_back_in_a_second_and_not_at_its_next_sound() -> None:
    bell = Bell(limit := alarm("limit")).run(28.5)
    bell.table.cut([limit.key], 28.5)
    assert bell.run(29.9).times(tone=False) == [0, 20, 29.5]


def test_what_was_cut_or_not_heard_twice_is_still_only_new() -> None:
    bell = Bell(due := alarm("due")).run(2)
    for _ in range(2):
        bell.table.cut([due.key], 2)
    bell.run(3)
    for _ in range(2):
        bell.table.unheard([due.key], 4)
    assert [(at, s.repeat) for at, s in bell.run(14).said] == [(0, 0), (3, 0), (14, 0)]


def test_one_time_not_heard_is_one_time_less() -> None:
    bell = Bell(due := alarm("due")).run(60)  # said at 0, 30 and 60
    bell.table.unheard([due.key], 62)
    assert [(at, s.repeat) for at, s in bell.run(75).said][-1] == (75, 2)  # a breath after 60


def test_a_limit_nobody_heard_is_shown_in_words_where_the_tone_was_next() -> None:
    bell = Bell(one := alarm("limit"), alarm("limit", "crown", chair=2)).run(12)
    bell.table.unheard([one.key], 12)  # again from 22 on
    assert bell.run(30).said[-1][1].tone_only is False


def test_a_limit_that_sounds_now_keeps_the_repeat_of_this_moment_back() -> None:
    bell = Bell(alarm("due"), alarm("limit", "crown", 30, chair=2)).run(30)
    assert bell.times("due") == [0]


def test_what_is_over_is_not_brought_back_by_a_cut() -> None:
    bell = Bell(due := alarm("due")).run(1)
    bell.alarms = []
    bell.look().table.cut([due.key], 1)
    bell.table.unheard([due.key], 1)
    assert bell.run(60).times() == [0]


def test_without_a_loudspeaker_a_call_is_shown_again_after_ten_seconds() -> None:
    bell = Bell(due := alarm("due")).run(2)
    bell.table.unheard([due.key], 2)
    assert bell.run(15).times() == [0, 12]
    assert bell.said[-1][1].repeat == 0


def test_what_was_only_shown_waits_for_no_breath() -> None:
    bell = Bell(alarm("due", chair=1), two := alarm("due", chair=2)).run(30)
    bell.table.unheard([two.key], 32)  # chair one was repeated at 30: no repeat before 45
    bell.now = 32
    assert bell.table.next_moment(32) == 42
    assert [s.chair for _, s in bell.run(42).said] == [1, 2, 1, 2]


def test_after_the_program_was_away_what_is_up_comes_at_once_in_words() -> None:
    bell = Bell(alarm("limit"), alarm("due", chair=2), alarm("check", chair=3)).run(5)
    bell.table.heard(3, 5)  # the check is settled for good
    bell.table.again(7)
    bell.now = 7
    bell.look()
    assert [(at, s.tone_only, s.alarms[0].kind) for at, s in bell.said[3:]] == [(7, False, "limit")]
    bell.alarms = bell.alarms[1:]
    assert bell.look().times("due") == [0, 7]
    assert bell.run(60).times("check") == [0]


def test_a_limit_that_passed_while_we_were_away_does_not_push_back_one_called_before() -> None:
    bell = Bell(alarm("limit"), alarm("limit", "crown", 6, chair=2)).run(5)
    bell.table.again(7)
    bell.now = 7
    bell.look()
    assert [(s.chair, s.tone_only) for _, s in bell.said[1:]] == [(1, False), (2, False)]
    assert bell.look().times() == [0, 7, 7]  # once, not at every look
    fresh = Bell(alarm("limit"), alarm("limit", "crown", 6, chair=2)).run(6)
    assert [s.chair for _, s in fresh.said] == [1, 2]  # nobody was away: the tone at 16


def test_away_does_not_put_off_what_would_have_come_sooner() -> None:
    bell = Bell(alarm("due", chair=1), alarm("due", chair=2)).run(30)
    bell.table.again(31)  # the second waits since 30 for its breath
    bell.now = 31
    assert [s.chair for _, s in bell.look().said] == [1, 2, 1, 1]


# ------------------------------------------------------------------ held, next moment


def test_a_check_waits_for_the_end_of_a_pass_at_its_head_and_nothing_else_does() -> None:
    bell = Bell(alarm("check"), alarm("check", chair=2), alarm("due", "crown"))
    bell.held = (11,)
    bell.run(10)
    assert [(s.chair, s.alarms[0].kind) for _, s in bell.said] == [(1, "due"), (2, "check")]
    bell.held = ()
    assert bell.look().times("check") == [0, 10]


def test_the_next_moment_is_when_something_will_sound() -> None:
    bell = Bell(alarm("due")).run(0)
    assert bell.table.next_moment(0) == 30
    bell.table.quiet(0)
    assert bell.table.next_moment(0) == 120
    limit = Bell(alarm("limit")).run(0)
    assert limit.table.next_moment(0) == 10
    limit.table.heard(None, 4)
    assert limit.table.next_moment(4) == 64
    check = Bell(alarm("check")).run(0)
    assert check.table.next_moment(0, held=(11,)) is None
    assert check.run(60).table.next_moment(60) is None
    assert CallTable().next_moment(0) is None


def test_the_next_moment_of_a_repeat_waits_for_its_breath() -> None:
    bell = Bell(alarm("due", chair=1), alarm("due", chair=2)).run(30)
    assert bell.table.next_moment(30) == 45
    bell.alarms.append(alarm("check", at=32, chair=3))
    assert bell.run(32).times("check") == [32]  # what is new does not


def test_all_that_is_up_is_listed_most_urgent_first() -> None:
    calls = [
        alarm("check", chair=4),
        alarm("due", "crown", 1, limit_at=80),
        alarm("due", "sides", 0, limit_at=80),
        alarm("due", "nape", 2, limit_at=70),
        alarm("limit", chair=3),
    ]
    bell = Bell(*calls).run(2)
    assert [a.subject for a in bell.table.up()][1:4] == ["nape", "sides", "crown"]
    assert [a.kind for a in bell.table.up()] == ["limit", "due", "due", "due", "check"]


def test_a_call_knows_the_newest_facts_of_its_alarm() -> None:
    """The limit of a head may change (a zone is taken off): order by slack follows."""
    table = CallTable()
    table.update([old := alarm("near", limit_at=50)], [old], 0)
    new = alarm("near", limit_at=20)
    assert old.key == new.key
    table.update([new], [new], 1)
    assert table.up() == [new]


def test_a_call_begins_unsaid() -> None:
    call = Call(alarm("limit"))
    assert (call.said, call.urgent, call.next_at) == (0, True, 0.0)

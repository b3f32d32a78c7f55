"""Is salon time one line, whatever is done to the machine? (Short D6 to D8 included.)"""

from __future__ import annotations

import queue
import time

import pytest

from assistant.core.moment import Moment, away_between
from assistant.edges.clock import Sources, SystemClock, VirtualClock
from assistant.edges.simulated_machine import SimulatedMachine
from tests.proof import d6, d7, d8
from tests.proof.outcome import Outcome, table

UTC = 1_767_254_400.0
HALF_A_DAY = 12 * 3600.0  # a longer gap is more likely a wrong clock
LAST = Moment(salon=1200.0, utc=UTC, boottime=5000.0, boot_id="first")


def _holds(outcomes: list[Outcome]) -> None:
    assert all(each.trials for each in outcomes)
    assert not any(each.failures for each in outcomes), table(outcomes)


def test_clock_steps() -> None:
    _holds(d6.prove(short=True))


def test_sleep() -> None:
    _holds(d7.prove(short=True))


def test_restart_of_the_machine() -> None:
    _holds(d8.prove(short=True))


@pytest.mark.parametrize(
    ("now", "seconds", "certain"),
    [
        (Moment(0, UTC + 60, 5060.0, "first"), 60, True),  # the program restarted
        (Moment(0, UTC, 5000.0, "first"), 0, True),  # at once
        (Moment(0, UTC - 86_400, 5060.0, "first"), 60, True),  # and the clock was set back
        (Moment(0, 0.0, 5060.0, "first", rtc=False), 60, True),  # to 1970, without a clock
        (Moment(0, UTC + 900, 4000.0, "first"), 900, False),  # boottime went back: a restored copy
        (Moment(0, UTC + 900, 4999.5, "first"), 900, False),  # by ever so little
        (Moment(0, UTC - 5, 4000.0, "first"), 0, False),  # and the calendar too
        (Moment(0, UTC + 300, 20.0, "second"), 300, True),  # the machine restarted
        (Moment(0, UTC + 0.5, 0.5, "second"), 0.5, True),  # the calendar says what the machine says
        (Moment(0, UTC + 300, 20.0, "second", rtc=False), 300, False),  # no clock while off
        (Moment(0, UTC + 10, 20.0, "second"), 20, False),  # up longer than the calendar says
        (Moment(0, UTC - 1, 20.0, "second"), 20, False),  # before the last record
        (Moment(0, 0.0, 20.0, "second"), 20, False),  # 1970
        (Moment(0, UTC + HALF_A_DAY, 20.0, "second"), HALF_A_DAY, True),
        (Moment(0, UTC + HALF_A_DAY + 1, 20.0, "second"), HALF_A_DAY, False),
        (Moment(0, UTC + 300, 20.0, ""), 300, False),  # the system does not tell its boots apart
    ],
)
def test_how_long_were_we_away(now: Moment, seconds: float, certain: bool) -> None:
    away = away_between(LAST, now)
    assert (away.seconds, away.certain) == (seconds, certain)


def test_two_runs_without_a_boot_id_are_never_taken_for_the_same_boot() -> None:
    last = Moment(0.0, UTC, 5000.0, "")
    assert not away_between(last, Moment(0, UTC + 60, 5060.0, "")).certain


def test_a_resumed_clock_goes_on_on_the_same_line() -> None:
    machine = SimulatedMachine()
    first = SystemClock(machine.sources(), machine.get)
    machine.true = 100.0
    last = first.moment()
    machine.true = 130.0
    second = SystemClock(machine.sources(), machine.get)
    resumed = second.resume(last)
    assert (resumed.at, resumed.away_seconds, resumed.certain) == (130.0, 30.0, True)
    machine.true = 140.0
    assert first.now() == second.now() == 140.0


def test_fifty_resumes_in_a_row_lose_nothing() -> None:
    machine = SimulatedMachine()
    clock = SystemClock(machine.sources(), machine.get)
    for _ in range(50):
        machine.true += 7.3
        last = clock.moment()
        machine.true += 1.9
        clock = SystemClock(machine.sources(), machine.get)
        clock.resume(last)
    assert clock.now() == pytest.approx(machine.true, abs=1e-6)


def test_a_due_deadline_goes_before_a_waiting_item() -> None:
    inbox: queue.Queue[str] = queue.Queue()
    inbox.put("chatter")
    for clock in (SystemClock(), VirtualClock()):
        assert clock.wait(inbox, clock.now()) is None
        assert inbox.qsize() == 1


def test_a_waiting_item_is_handed_out_at_once() -> None:
    inbox: queue.Queue[str] = queue.Queue()
    for clock in (SystemClock(), VirtualClock()):
        inbox.put("next")
        assert clock.wait(inbox, clock.now() + 3600) == "next"
        inbox.put("next")
        assert clock.wait(inbox, None) == "next"


def test_it_never_waits_longer_than_a_tick() -> None:
    machine = SimulatedMachine()
    asked: list[float] = []

    def get(inbox: queue.Queue[str], seconds: float) -> str | None:
        asked.append(seconds)
        return machine.get(inbox, seconds)

    SystemClock(machine.sources(), get).wait(queue.Queue(), 10.1)
    assert machine.true == pytest.approx(10.1)
    assert max(asked) <= 0.25


def test_the_real_machine_has_readings_that_rise() -> None:
    clock = SystemClock()
    first, second = clock.moment(), clock.moment()
    assert 0 <= first.salon <= second.salon < 60
    assert second.boottime >= first.boottime > 0
    assert first.boot_id == second.boot_id


def test_the_time_zone_does_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = SystemClock()
    before = clock.moment()
    monkeypatch.setenv("TZ", "Pacific/Kiritimati")
    time.tzset()
    after = clock.moment()
    monkeypatch.undo()
    time.tzset()
    assert 0 <= after.salon - before.salon < 60
    assert 0 <= after.utc - before.utc < 60


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="this system has no BOOTTIME")
def test_sleep_is_counted() -> None:
    low = time.clock_gettime(time.CLOCK_BOOTTIME)
    reading = Sources().boottime()
    assert low <= reading <= time.clock_gettime(time.CLOCK_BOOTTIME)


def test_a_machine_without_boottime_uses_the_monotonic_clock(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delattr(time, "CLOCK_BOOTTIME", raising=False)
    low, reading, high = time.monotonic(), Sources().boottime(), time.monotonic()
    assert low <= reading <= high


def test_virtual_time_jumps_from_item_to_deadline() -> None:
    clock = VirtualClock()
    inbox: queue.Queue[str] = queue.Queue()
    clock.at(40.0, "later")
    clock.at(5.0, "first")
    clock.at(5.0, "second")
    got = [(clock.wait(inbox, 30.0), clock.now()) for _ in range(3)]
    assert got == [("first", 5.0), ("second", 5.0), (None, 30.0)]
    assert clock.wait(inbox, None) == "later"
    with pytest.raises(queue.Empty):
        clock.wait(inbox, None)


def test_virtual_time_never_goes_back() -> None:
    clock = VirtualClock()
    clock.jump(10.0)
    clock.jump(4.0)
    clock.at(3.0, "overdue")
    assert clock.wait(queue.Queue(), None) == "overdue"
    assert clock.now() == 10.0


def test_a_rehearsal_resumes_where_it_stood() -> None:
    clock = VirtualClock()
    clock.jump(77.0)
    other = VirtualClock()
    resumed = other.resume(clock.moment())
    assert (other.now(), resumed.away_seconds, resumed.certain) == (77.0, 0.0, True)

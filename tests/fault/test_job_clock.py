"""A clock set back an hour, and a machine that slept, while an actuation runs: what the job makes of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.job.stand import STOP, Stand
from witnessmark.audit.reconcile import Reconciled
from witnessmark.clock import NS, Stamp


class Moved:
    """Gives the stamps of a stand's clock with wall time stepped and time slept away."""

    def __init__(self, stand: Stand) -> None:
        self._clock = stand.clock
        self.step_ns = self.slept_ns = 0
        stand.clock.stamp = self.stamp  # type: ignore[method-assign]

    def stamp(self, device_ns: int | None = None) -> Stamp:
        now = self._clock.now_ns
        return Stamp(now + self.step_ns + self.slept_ns, now, now + self.slept_ns, device_ns)


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand()
    yield made
    made.close()


def start(stand: Stand) -> None:
    """Go to the armed view, start, and run for two seconds."""
    stand.go_to("armed")
    stand.press("s")
    stand.until(lambda: any("run" in one and one["run"]["state"] == "running" for one in stand.told))
    stand.wait(2)


def found(stand: Stand) -> list[tuple[str, int]]:
    clock = Reconciled(stand.journal.of("J1"))
    return [(one.kind, round(one.by_ns / NS)) for one in clock.disturbances]


def test_a_clock_set_back_an_hour_changes_no_duration_and_the_audit_finds_it(stand: Stand) -> None:
    moved = Moved(stand)
    start(stand)
    moved.step_ns = -3600 * NS
    stand.until(lambda: "outcome" in stand.kinds())
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.stop) == ("completed", "confirmed")
    assert 8 <= int(outcome.duration_ns) / NS < 8.5
    assert found(stand) == [("stepped", -3600)]


def test_a_clock_set_forward_an_hour_neither_ends_a_run_nor_makes_it_longer(stand: Stand) -> None:
    moved = Moved(stand)
    start(stand)
    moved.step_ns = 3600 * NS
    stand.until(lambda: "outcome" in stand.kinds())
    (outcome,) = stand.bodies("outcome")
    assert outcome.result == "completed" and 8 <= int(outcome.duration_ns) / NS < 8.5
    assert found(stand) == [("stepped", 3600)]


def test_a_machine_that_slept_while_it_ran_stops_it_and_says_so(stand: Stand) -> None:
    moved = Moved(stand)
    start(stand)
    moved.slept_ns = 600 * NS
    stand.until(lambda: "outcome" in stand.kinds())
    (outcome,) = stand.bodies("outcome")
    assert (outcome.result, outcome.stop) == ("stopped", "confirmed")
    assert outcome.why == "the machine slept for 600 s"
    assert stand.unit.heard.count(STOP) == 1
    assert found(stand) == [("asleep", 600)]


def test_a_machine_that_slept_while_armed_is_armed_no_longer(stand: Stand) -> None:
    moved = Moved(stand)
    stand.go_to("armed")
    moved.slept_ns = 5 * NS
    stand.until(lambda: "disarmed" in stand.kinds())
    assert stand.bodies("disarmed")[0].why == "the machine slept for 5 s"
    assert "intent" not in stand.kinds() and stand.acts == []


def test_a_pressure_read_before_the_machine_slept_is_too_old_to_arm(stand: Stand) -> None:
    moved = Moved(stand)
    stand.go_to("arm")
    moved.slept_ns = 600 * NS
    stand.until(lambda: stand.view["kind"] == "close")
    stand.press("y")
    stand.until(lambda: stand.view.get("step") == "level-look")
    stand.press("y")
    stand.until(lambda: stand.view["kind"] == "reading")
    assert stand.view["what"] == "feed-pressure" and stand.acts == []

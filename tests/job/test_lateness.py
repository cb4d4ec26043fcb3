"""How surely it is known when something was heard: what a held-up listener reads late is written as a range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import Stand
from tests.job.test_listening import START, STARTED, STOP, STOPPED

from witnessmark.clock import NS
from witnessmark.job.heard.heard_run import KEPT, Lateness
from witnessmark.link.frame import Event, Frame

MS = NS // 1000


def test_what_was_read_may_have_come_since_the_last_look_that_found_nothing() -> None:
    late = Lateness(0, arrived=False)
    late.empty(100)
    late.found([150, 170])
    assert (late.of(150), late.of(170), late.of(160)) == (50, 70, 0)
    late.found([200])  # it may have waited behind the others
    late.empty(210)
    late.found([215])
    assert (late.of(200), late.of(215)) == (100, 5)


def test_a_link_that_stamps_the_arrival_is_never_late() -> None:
    late = Lateness(0, arrived=True)
    late.found([150])
    assert late.of(150) == 0


def test_of_a_moment_that_is_not_kept_any_more_the_most_is_taken_that_any_such_was_late() -> None:
    late = Lateness(0, arrived=False)
    late.found(range(1, 10_001))
    assert late.of(1) == 10_000 - KEPT and late.of(10_000) == 10_000
    late.empty(20_000)
    late.found([20_001])
    assert late.of(20_000) == 0 and late.of(20_001) == 1


class ReadLate(ListeningLink):
    """Stamps what it hears when it is read, as a serial port does."""

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        if self.clock is None:
            return []
        stamp = self.clock.stamp()
        return [replace(one, stamp=stamp) if isinstance(one, Frame) else one for one in super().receive(wait_s)]


@pytest.mark.parametrize(("stamps", "known"), [("read", False), ("arrived", True)])
def test_a_start_that_was_read_late_is_written_with_how_late_it_may_be(stamps: str, known: bool) -> None:
    bus = ReadLate()
    bus.capabilities = replace(bus.capabilities, stamps=stamps)  # type: ignore[arg-type]
    stand = Stand(grade="heard", bus=bus)
    bus.clock = stand.clock
    stand.go_to("hear")
    bus.ask(START)
    bus.answer(STARTED)
    stand.clock.advance(0.4)  # the machine is held up: nobody looks
    stand.wait(8)
    bus.ask(STOP)
    stand.wait(0.02)
    bus.answer(STOPPED)
    stand.turn(6)
    (outcome,) = stand.bodies("outcome")
    late, end = (int(one or 0) for one in (outcome.from_late_ns, outcome.to_late_ns))
    assert (late == 0) if known else (400 * MS <= late <= 420 * MS)
    assert end <= 10 * MS, "who looks all the time knows it so well"
    answers = [one.answers[-1].late_ns for one in stand.bodies("exchange")]
    assert answers == [outcome.from_late_ns, outcome.to_late_ns]
    stand.close()


def test_the_link_is_looked_at_often_while_an_answer_is_waited_for() -> None:
    bus = ListeningLink()
    stand = Stand(grade="heard", bus=bus)
    bus.clock = stand.clock
    stand.go_to("hear")
    bus.ask(START)
    stand.turn(2)
    listening = stand.runner._listening
    assert listening is not None
    deadline_ns = listening.deadline_ns()
    assert deadline_ns is not None and deadline_ns - stand.clock.mono_ns() <= 20 * MS
    stand.close()

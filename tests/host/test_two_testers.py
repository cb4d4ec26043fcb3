"""Two links on one bus (python-can's own, in memory): one job runs a wire command, the other hears it."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand, answers

from witnessmark.clock import SystemClock
from witnessmark.host import plugins
from witnessmark.link.port import FrameLink

can = pytest.importorskip("can")
SHORT = PROCEDURE.replace('seconds = "8 s"', 'seconds = "2 s"')
NUMBERS = itertools.count()


class Unit:
    """A control unit on the bus that answers requests of one frame from a table."""

    def __init__(self, channel: str) -> None:
        self._bus = can.Bus(interface="virtual", channel=channel)
        self._table = {request: said[0][1] for request, said in answers().items()}
        self._table[bytes.fromhex("3101030102")] = bytes.fromhex("71010301")
        self.heard: list[bytes] = []

    def step(self) -> None:
        while (message := self._bus.recv(0)) is not None:
            data = bytes(message.data)
            request = data[1 : 1 + data[0]]
            if message.arbitration_id != 0x7A0:
                continue
            self.heard.append(request)
            answer = self._table.get(request)
            if answer is not None:
                data = bytes((len(answer),)) + answer
                self._bus.send(can.Message(arbitration_id=0x7A8, data=data, is_extended_id=False))

    def close(self) -> None:
        self._bus.shutdown()


class Beside(Stand):
    """A stand on the real clock that lets the others on the bus go on at each turn."""

    others: Callable[[], None] = staticmethod(lambda: None)

    def turn(self, count: int = 3) -> None:
        for _ in range(count):
            super().turn(1)
            self.others()


@pytest.fixture
def bay() -> Iterator[tuple[Beside, Beside, Unit]]:
    channel = f"two-testers-{next(NUMBERS)}"
    address, clock = f"canbus:virtual/{channel}", SystemClock()
    unit = Unit(channel)
    speaks = plugins.open_link(address, clock)
    listens = plugins.open_link(address, clock, listen_only=True)
    assert isinstance(speaks, FrameLink) and isinstance(listens, FrameLink)
    tester = Beside(procedure=SHORT, clock=clock, bus=speaks)
    listener = Beside(procedure=SHORT, clock=clock, bus=listens, grade="heard")

    def go_on() -> None:
        unit.step()
        Stand.turn(listener, 1)

    tester.others = go_on  # type: ignore[method-assign]
    listener.others = unit.step  # type: ignore[method-assign]
    yield tester, listener, unit
    for one in (tester, listener):
        one.close()
    speaks.close()
    listens.close()
    unit.close()


def test_what_one_job_sends_the_other_hears_with_the_same_bytes_and_the_same_length(
    bay: tuple[Beside, Beside, Unit],
) -> None:
    tester, listener, unit = bay
    listener.go_to("hear", "p1")
    before = list(unit.heard)
    assert before == []  # a job that listens asks nothing
    tester.go_to("close", "p1")
    listener.until(lambda: listener.bodies("outcome"))
    (sent,), (heard,) = tester.bodies("outcome"), listener.bodies("outcome")
    assert (sent.result, heard.result) == ("completed", "completed")
    assert abs(int(sent.duration_ns) - int(heard.duration_ns)) < 100_000_000
    assert [one.grade for one in (*tester.bodies("intent"), *listener.bodies("intent"))] == ["sent", "heard"]
    mine = {one.purpose: one for one in tester.bodies("exchange")}
    theirs = {one.purpose: one for one in listener.bodies("exchange")}
    for purpose in ("start", "stop"):
        assert theirs[purpose].request == mine[purpose].request
        assert theirs[purpose].answers[-1].payload == mine[purpose].answers[-1].payload
    assert listener.view["kind"] == "close"

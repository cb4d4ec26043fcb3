"""A probe that goes on looks first whether it is at the vehicle at which it began."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from witnessmark.clock import ManualClock
from witnessmark.errors import InputError
from witnessmark.link.frame import Peer
from witnessmark.mapping.probe import Probe, ProbePlan, learn
from witnessmark.mapping.probe_log import Logged, LoggedAnswer, ProbeLog
from witnessmark.mapping.read_request import ReadRequest
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.resumed import OtherVehicle
from witnessmark.mapping.standstill import Standstill
from witnessmark.talk.timing import Timing

PLAN = ProbePlan((Peer(0x6B3, 0x6BB), Peer(0x6B4, 0x6BC)))
FIRST = {"3E00": "7E00", "1001": "500100320 1F4".replace(" ", ""), "22F190": "62F190" + b"FIRST".hex().upper(),
         "22F18C": "62F18C3131", "22F187": "62F18741", "22F197": "62F1975858"}  # fmt: skip


class Vehicle:
    """What answers, in place of a link: tables of answers by the address of requests. `heard` is what it was asked."""

    functional = True

    def __init__(self, log: ProbeLog, units: Mapping[str, Mapping[str, str]], stop_after: int = 10_000) -> None:
        self.clock = ManualClock()
        self.late: set[int] = set()
        self.logged = tuple(log.lines)
        self.log = log
        self.units = units
        self.asked = 0
        self.heard: list[tuple[str, str]] = []
        self._stop_after = stop_after

    def expect(self, peer: Peer) -> None: ...
    def timing(self, peer: Peer, timing: Timing) -> None: ...

    def finish(self) -> None:
        self.log.finish(self.clock.stamp().wall_ns)

    def ask(self, peer: Peer, request: ReadRequest, *, watch: bool = False) -> Logged:
        target, payload = f"{peer.target:03X}", request.payload.hex().upper()
        known = None if watch else self.log.known(target, payload)
        if known is not None:
            return known
        if self.asked >= self._stop_after:
            raise ProbeStopped("stopped as asked")
        self.asked += 1
        self.heard.append((target, payload))
        here = self.units if peer.functional else {target: self.units.get(target, {})}
        answers = tuple(
            LoggedAnswer(source=f"{int(unit, 16) + 8:03X}", payload=said[payload], first_ns="1", last_ns="1")
            for unit, said in here.items()
            if payload in said
        )
        source = "" if peer.source is None else f"{peer.source:03X}"
        line = Logged(target=target, source=source, functional=peer.functional, request=payload, asked_ns="1",
                      answers=answers, watch=watch)  # fmt: skip
        self.log.add(line)
        return line


def go(path: Path, units: Mapping[str, Mapping[str, str]], stop_after: int = 10_000) -> tuple[Vehicle, Any]:
    """Probe until it went through, or was stopped; return what was asked, and why it ended early."""
    log = ProbeLog.open(path, str(PLAN), "canbus:a")
    vehicle = Vehicle(log, units, stop_after)
    reader: Any = vehicle
    try:
        Probe(PLAN, reader, Standstill(None, lambda question: True)).run()
    except ProbeStopped as end:
        return vehicle, end
    finally:
        log.close()
    return vehicle, None


def stopped(tmp_path: Path) -> Path:
    _, why = go(tmp_path / "log", {"6B3": FIRST}, stop_after=30)
    assert str(why) == "stopped as asked"
    return tmp_path / "log"


def identity(vehicle: Vehicle) -> list[str]:
    return [payload for target, payload in vehicle.heard if target == "6B3"]


def test_the_same_vehicle_is_asked_again_who_it_is_and_then_goes_on(tmp_path: Path) -> None:
    path = stopped(tmp_path)
    again, why = go(path, {"6B3": FIRST})
    assert why is None
    assert identity(again)[:3] == ["22F190", "22F18C", "22F187"], "its own number and its vehicle's come first"
    assert "22F197" not in identity(again), "what was read once and does not bind is not asked for again"
    (unit,) = learn(again.log).vehicle("v", "v").units
    assert {one.identifier for one in unit.identifiers if one.value} >= {"F190", "F18C", "F187", "F197"}


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"22F190": "62F190" + b"OTHER".hex().upper()}, r"F190 \(VIN\) is OTHER.* it was FIRST"),
        ({"22F18C": "62F18C3232"}, "F18C .* is 22.* it was 11"),
        ({"22F187": "62F18742"}, "F187 .* is B.* it was A"),
        ({"22F190": "7F2231"}, r"F190 \(VIN\) is refused \(7F2231\).* it was FIRST"),
    ],
)
def test_another_vehicle_or_software_is_refused_with_both_named_and_nothing_of_it_is_learned(
    tmp_path: Path, changed: dict[str, str], says: str
) -> None:
    path = stopped(tmp_path)
    before = ProbeLog.open(path, str(PLAN), "canbus:a")
    before.close()
    other, why = go(path, {"6B3": {**FIRST, **changed}})
    assert isinstance(why, OtherVehicle) and "--afresh" in why.hint
    with pytest.raises(OtherVehicle, match=says):
        raise why
    assert len(identity(other)) <= 3, "nothing of the plan was asked"
    assert learn(other.log).vehicle("v", "v") == learn(before).vehicle("v", "v")


def test_a_unit_more_is_another_vehicle_and_a_unit_less_may_sleep(tmp_path: Path) -> None:
    path = stopped(tmp_path)
    _, why = go(path, {"6B3": FIRST, "6B4": {"3E00": "7E00"}})
    assert isinstance(why, OtherVehicle) and "6BC answers now, and when this probe began it did not" in why.why
    _, why = go(path, {"6B4": {"3E00": "7E00"}})
    assert isinstance(why, OtherVehicle)
    _, why = go(path, {})
    assert not isinstance(why, OtherVehicle) and "6BB answered when this probe began, and does not now" in why.why
    assert why.wants == "wake" and "another --output" in why.hint


def test_a_probe_that_went_through_says_so_in_its_log_and_only_that_plan_counts(tmp_path: Path) -> None:
    path = stopped(tmp_path)
    assert ProbeLog.finished(path, str(PLAN)) is None
    through, why = go(path, {"6B3": FIRST})
    found = ProbeLog.finished(path, str(PLAN))
    assert why is None and found is not None and found.lines == through.log.lines
    assert found.finished_ns == through.clock.now_ns and ProbeLog.finished(path, "another plan") is None
    assert ProbeLog.finished(tmp_path / "nothing", str(PLAN)) is None


def test_a_log_of_another_kind_of_link_is_refused_and_an_empty_one_begins_anew(tmp_path: Path) -> None:
    path = stopped(tmp_path)
    with pytest.raises(InputError, match="was begun over canbus:a, not practice:yard"):
        ProbeLog.open(path, str(PLAN), "practice:yard")
    empty = tmp_path / "empty"
    ProbeLog.open(empty, "plan", "practice:yard").close()
    anew = ProbeLog.open(empty, "plan", "canbus:b")
    anew.close()
    assert anew.header.link == "canbus:b"


def test_the_stand_in_asks_as_the_reader_does() -> None:
    names = ("expect", "timing", "finish", "ask")
    assert all(callable(getattr(kind, name)) for kind in (Vehicle, Reader) for name in names)

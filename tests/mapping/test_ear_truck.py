"""Runs of another tester on the practice truck, recognised live among its bus traffic and held against its truth."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.plugins.practice.bay import Bay

import witnessmark_practice
from witnessmark.clock import NS, Stamp
from witnessmark.link.frame import Frame
from witnessmark.mapping.ear import Ear, Heard
from witnessmark.mapping.load import load
from witnessmark_practice.wire_commands import WIRE_COMMANDS

RUNS = 30
RESTS_S = 20.0
KNOWN = load(Path(witnessmark_practice.__file__).parent / "data" / "map.json")


@pytest.fixture(scope="module")
def heard() -> tuple[Bay, list[Heard]]:
    """Thirty runs of all wire commands, 3 to 12 s long, each fifth asked for once more while its motor rests."""
    bay, found = Bay(traffic=True), []
    bay.ready()
    bay.frames.clear()
    ear = Ear(KNOWN)
    for number in range(RUNS):
        command, seconds = WIRE_COMMANDS[number % 4], 3 + number % 10
        bay.do("pressurise")
        bay.do("elsewhere", command.id, f"{seconds} s")
        bay.wait(seconds + 5)
        if number % 5 == 4:
            bay.do("elsewhere", command.id, "3 s")
        bay.wait(RESTS_S)
        for frame in bay.frames:
            at_ns = round(frame.at_s * NS)
            found += ear.feed(Frame(frame.can_id, frame.data, Stamp(at_ns, at_ns), extended=frame.extended))
        bay.frames.clear()
    assert ear.lost == 0
    return bay, found


def test_every_run_is_found_and_none_is_invented(heard: tuple[Bay, list[Heard]]) -> None:
    bay, found = heard
    true = [run.command.id for run in bay.truck.unit.actuator.runs]
    assert len(true) == RUNS
    assert [one.command.id for one in found if one.act == "start" and one.result == "positive"] == true
    assert [one.command.id for one in found if one.act == "stop" and one.result == "positive"] == true


def test_each_is_printed_within_a_tenth_of_a_second_of_how_long_it_truly_ran(heard: tuple[Bay, list[Heard]]) -> None:
    bay, found = heard
    ran = [one for one in found if one.result == "positive"]
    for start, stop, run in zip(ran[::2], ran[1::2], bay.truck.unit.actuator.runs, strict=True):
        assert (start.act, stop.act, run.end_s is not None) == ("start", "stop", True)
        printed = float(f"{(stop.at_ns - start.at_ns) / NS:.1f}")
        assert abs(printed - ((run.end_s or 0) - run.start_s)) <= 0.1, (start.command.id, printed)


def test_what_was_refused_is_told_as_refused_and_is_no_run(heard: tuple[Bay, list[Heard]]) -> None:
    _, found = heard
    assert [(one.act, one.code) for one in found if one.result == "negative"] == [("start", 0x86)] * 6

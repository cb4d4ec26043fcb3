"""The invented procedure, carried out by hand and by wire on the invented truck: it can be done, and it helps."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest
from tests.plugins.practice.bay import Bay

from witnessmark import quantity
from witnessmark.mapping import load as map_file
from witnessmark.mapping.model import WireCommand
from witnessmark.procedure import load as procedure_file
from witnessmark.procedure.model import Pass, Procedure

DATA = Path(str(files("witnessmark_practice"))) / "data"
PREPARE_S, TIDY_S = 20.0, 12.0
"""How long hands take before a run and after it: a choice of this test."""


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return procedure_file.load(DATA / "procedure.toml")


@pytest.fixture(scope="module")
def commands() -> dict[str, WireCommand]:
    return {one.id: one for one in map_file.load(DATA / "map.json").wire_commands}


def stay(bay: Bay, seconds: float) -> None:
    """Let time pass as a tester that keeps its session."""
    while seconds > 0:
        bay.wait(min(2.0, seconds))
        bay.send("023e80")
        seconds -= 2.0


def request(bay: Bay, payload: str, budget_ms: int) -> str:
    """Send a request of one frame and return its final answer, sitting out each 0x78."""
    data = bytes.fromhex(payload)
    answers = bay.send(f"{len(data):02x}{payload}")
    for _ in range(budget_ms // 100):
        if (answers and not answers[-1].startswith("037f")) or (answers and answers[-1][6:8] != "78"):
            break
        bay.wait(0.1)
        answers = bay.answers()
    return answers[-1][2 : 2 + 2 * int(answers[-1][:2], 16)]


def prepare(bay: Bay) -> None:
    for act, amount in (
        ("wake", ""),
        ("supply", ""),
        ("draw-off", "560 mL"),
        ("refill", "760 mL"),
        ("fit-feed", ""),
        ("pressurise", "2.0 bar"),
    ):
        bay.do(act, "", amount)
        bay.wait(5.0)


def do_pass(bay: Bay, one: Pass, command: WireCommand) -> None:
    seconds = int(quantity.parse(one.seconds, place=one.id).number)
    bay.do("pressurise", "", "2.0 bar")
    stay(bay, PREPARE_S)
    for nipple in one.nipples:
        bay.do("open", nipple)
    start = command.start.replace("{seconds}", f"{seconds:02X}")
    assert request(bay, start, command.budget_ms)[0] in "67", f"{one.id} was refused"
    stay(bay, seconds)
    assert request(bay, command.stop, command.budget_ms)[0] in "67", one.id
    for nipple in one.nipples:
        bay.do("close", nipple, "8 N.m")
    stay(bay, TIDY_S)


def test_the_whole_procedure_runs_without_a_refusal_in_under_eight_minutes_and_leaves_the_truck_well(
    procedure: Procedure, commands: dict[str, WireCommand]
) -> None:
    bay = Bay()
    prepare(bay)
    assert request(bay, "1003", 1000).startswith("5003")
    lowest_bar = 9.0
    for one in procedure.passes:
        do_pass(bay, one, commands[one.wire_command])
        lowest_bar = min(lowest_bar, bay.truck.fluid.feed_bar)
        expected = "clear" if one.clear else "bubbles"
        assert {bay.do("read", "outflow", nipple) for nipple in one.nipples} == {expected}, one.id
    assert bay.truck.now_s < 480
    assert lowest_bar > 1.8, "the feed keeps its band between two readings"
    assert bay.truck.fluid.level_ml > 150, "the reservoir never gets near dry"
    bay.do("depressurise")
    assert bay.do("remove-feed") == "ok"
    assert bay.do("pedal", "", "5") == "firm"
    runs = bay.truck.unit.actuator.runs
    assert [run.command.id for run in runs] == [one.wire_command for one in procedure.passes]
    assert {run.ended_by for run in runs} == {"stop"}

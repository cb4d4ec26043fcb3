"""Wire commands heard from another tester, held against what the practice truck says truly happened."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.mapping.recorded_truck import ORIGIN, RecordedTruck, thirty_runs

from witnessmark.mapping.facts import Candidate
from witnessmark.mapping.listen import listen
from witnessmark.mapping.load import to_text, vehicle_from_text
from witnessmark.mapping.model import ProtocolMap
from witnessmark.recording.file import open_recording
from witnessmark.recording.reading import read_recording
from witnessmark_practice.wire_commands import WIRE_COMMANDS

PUMP_REAR, PURGE, VALVE = WIRE_COMMANDS[1], WIRE_COMMANDS[2], WIRE_COMMANDS[3]


def heard(bay: RecordedTruck, folder: Path) -> ProtocolMap:
    reading = read_recording(open_recording(bay.write(folder / "bay.log")))
    (unit,) = listen(reading, "bay.log").vehicle("truck", "truck").units
    return unit


def only(unit: ProtocolMap, id_: str) -> Candidate:
    (found,) = [one for one in unit.candidates if one.id == id_]
    return found


@pytest.fixture(scope="module")
def thirty(tmp_path_factory: pytest.TempPathFactory) -> tuple[RecordedTruck, ProtocolMap]:
    bay = thirty_runs()
    return bay, heard(bay, tmp_path_factory.mktemp("thirty"))


def test_every_run_is_found_none_is_invented_and_each_took_as_long_as_it_did(
    thirty: tuple[RecordedTruck, ProtocolMap],
) -> None:
    bay, unit = thirty
    true = sorted((run.start_s, f"{run.command.service:02X}-{run.command.identifier:04X}", run.end_s)
                  for run in bay.truck.unit.actuator.runs)  # fmt: skip
    found = sorted((int(run.start_ns), one.id, run.ms) for one in unit.candidates for run in one.runs)
    assert len(true) == 30 and [one[1] for one in found] == [one[1] for one in true]
    for (at_ns, _, ms), (start_s, _, end_s) in zip(found, true, strict=True):
        assert abs((at_ns - ORIGIN.wall_ns) / 1e9 - start_s) < 0.1
        assert ms is not None and end_s is not None and abs(ms / 1000 - (end_s - start_s)) < 0.1


def test_the_hole_of_seconds_stands_out_and_constant_requests_stay_constant(
    thirty: tuple[RecordedTruck, ProtocolMap],
) -> None:
    _, unit = thirty
    assert {one.id: one.start for one in unit.candidates} == {
        "31-7310": "31017310",
        "31-7320": "31017320",
        "31-7340": "31017340{seconds}",
        "2F-7101": "2F710103{seconds}",
    }
    assert {one.id: one.stop for one in unit.candidates}["2F-7101"] == "2F710100"
    assert all(one.never == () and one.observed.session == 3 for one in unit.candidates)
    assert only(unit, "31-7340").observed.seconds == (3, 4, 5, 6, 7)


def test_timing_habits_of_the_unit_are_measured(thirty: tuple[RecordedTruck, ProtocolMap]) -> None:
    _, unit = thirty
    assert unit.timing.p2_ms == 200 and unit.timing.p2_star_ms == 5000
    habits = unit.habits
    assert habits is not None and habits.kept_alive == "3E80" and habits.kept_alive_ms == 2000
    # All but the valve answer 0x78 to their start, and the purge of the unit to its stop: 30 runs of 4 in turn.
    assert habits.pending == 8 + 8 + 2 * 7


def test_refusals_and_the_pauses_before_them_are_told(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.ask("1003")
    bay.ask("31017320", 0.7)
    bay.keep_alive(5)
    bay.ask("31027320", 0.2)
    bay.ask("31017320", 0.5)  # inside its cool-down
    bay.keep_alive(16)
    bay.ask("31017320", 0.7)
    bay.keep_alive(4)
    bay.ask("31027320", 0.2)
    observed = only(heard(bay, tmp_path), "31-7320").observed
    assert (observed.runs, observed.ended) == (2, 2) and sum(observed.refusals.values()) == 1
    assert observed.refused_rest_ms is not None and observed.refused_rest_ms < 1000
    assert observed.rest_ms is not None and 15_000 < observed.rest_ms < 18_000


def test_what_was_refused_for_another_reason_says_nothing_about_the_rest(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.run(PUMP_REAR, 4)
    bay.keep_alive(5)
    bay.truck.fluid.feed_bar = 0.0
    bay.ask("31017320", 0.5)
    bay.truck.fluid.feed_bar = 2.0
    bay.run(PUMP_REAR, 4)
    observed = only(heard(bay, tmp_path), "31-7320").observed
    assert (observed.runs, observed.refusals) == (2, {"22": 1})
    assert observed.refused_rest_ms is None and observed.rest_ms is not None


def test_a_rest_is_not_measured_from_the_end_of_another_run_than_the_one_before(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.run(PUMP_REAR, 4)
    bay.ask("1003")
    bay.ask("31017320", 0.7)
    bay.keep_alive(3)
    bay.ask("31017320", 0.5)  # refused as it runs: when that ends is not known any more
    bay.ask("31027320", 0.2)
    bay.ask("31017320", 0.5)  # refused as the motor rests
    observed = only(heard(bay, tmp_path), "31-7320").observed
    assert (observed.runs, observed.refusals) == (2, {"22": 1, "86": 1})
    assert observed.refused_rest_ms is None


def test_a_run_whose_stop_was_never_confirmed_has_no_length_and_is_never_sent(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.ask("1003")
    bay.ask("31017320", 0.7)
    bay.wait(8)
    found = only(heard(bay, tmp_path), "31-7320")
    assert [run.ms for run in found.runs] == [None]
    assert "its end was never observed" in found.never and "no request that stops it is known" in found.never


@pytest.mark.parametrize(
    "service", ["2701", "2901", "2EF1A000", "3400", "3500", "3601", "37", "3801", "1101", "280101", "8502"]
)
def test_what_rested_on_unlocking_writing_or_resetting_is_never_sent(service: str, tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.ask("1003")
    # The practice unit refuses all of these, so the answer that another unit would give is put on the bus for it.
    payload = bytes.fromhex(service)
    bay.truck.unit.dead = True
    bay.ask(service)
    bay.truck.unit.dead = False
    bay.run(PUMP_REAR, 5)
    found = only(heard(bay, tmp_path), "31-7320")
    assert found.observed.needs == (f"{payload[0]:02X}",)
    assert any("before it" in why for why in found.never)


def test_what_was_switched_for_all_units_at_once_counts_for_each(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.ask("1003")
    bay.ask("2883", functional=True)
    bay.run(PUMP_REAR, 5)
    assert only(heard(bay, tmp_path), "31-7320").observed.needs == ("28",)


def test_a_byte_that_counts_up_is_named_and_never_sent(tmp_path: Path) -> None:
    bay = RecordedTruck()
    for number in range(4):
        bay.run(VALVE, 5, option=f"{6 + number:02X}")
    found = only(heard(bay, tmp_path), "2F-7101")
    assert found.start == "2F710103.." and found.never == ("unexplained: byte 4 of the start counts up",)


def test_seconds_that_do_not_fit_the_time_it_ran_are_not_called_seconds(tmp_path: Path) -> None:
    bay = RecordedTruck()
    for option in ("0F", "0A", "0C"):
        bay.run(VALVE, 3, option=option)
    found = only(heard(bay, tmp_path), "2F-7101")
    assert found.start == "2F710103.." and found.observed.seconds == ()
    assert found.never == ("unexplained: byte 4 of the start varied: 0A, 0C, 0F",)


def test_a_functional_start_is_told_and_never_sent(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.run(PUMP_REAR, 5)
    bay.ask("1003")
    bay.ask("31017320", 0.5, functional=True)
    found = only(heard(bay, tmp_path), "31-7320")
    assert found.observed.functional and "it was sent to all control units at once" in found.never
    assert len(found.runs) == len(bay.truck.unit.actuator.runs) == 1


def test_a_recording_without_times_gives_a_map_that_is_read_back_and_claims_no_time(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.run(WIRE_COMMANDS[1], 5)
    path = tmp_path / "bay.log"
    path.write_text(re.sub(r"(?m)^\([^)]*\) ", "", bay.text), encoding="ascii")
    (unit,) = vehicle_from_text(
        to_text(listen(read_recording(open_recording(path)), "bay.log").vehicle("v", "v"))
    ).units
    assert unit.habits is not None and (unit.habits.answer, unit.habits.longest_pause_ms) == (None, None)
    (candidate,) = unit.candidates
    assert [(run.start_ns, run.ms) for run in candidate.runs] == [("", None)]
    assert (candidate.observed.runs, candidate.observed.ended, candidate.observed.rest_ms) == (1, 0, None)
    assert {(one.evidence.first_ns, one.evidence.last_ns) for one in unit.services} == {("", "")}

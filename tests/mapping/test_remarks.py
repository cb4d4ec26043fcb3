"""What a person typed while listening stands at the start that it was said of, and nowhere else."""

from __future__ import annotations

from pathlib import Path

from tests.mapping.recorded_truck import ORIGIN, RecordedTruck

from witnessmark.mapping.facts import Candidate, Evidence, Observed, Run
from witnessmark.mapping.listen import listen
from witnessmark.mapping.model import AddressPair, ProtocolMap, Timing, VehicleMap
from witnessmark.mapping.remarks import put
from witnessmark.recording.file import open_recording
from witnessmark.recording.reading import read_recording
from witnessmark_practice.wire_commands import WIRE_COMMANDS

S = 1_000_000_000
HEARD = Evidence("heard")


def candidate(id_: str, *starts_s: int, refused_s: tuple[int, ...] = ()) -> Candidate:
    return Candidate(
        id=id_,
        start="31017310",
        observed=Observed(runs=len(starts_s), ended=0),
        runs=tuple(Run(start_ns=str(one * S), request="31017310") for one in starts_s),
        refused_ns=tuple(str(one * S) for one in refused_s),
        evidence=HEARD,
    )


def vehicle(*units: tuple[Candidate, ...]) -> VehicleMap:
    made = tuple(
        ProtocolMap(
            format="witnessmark-map/1",
            id=f"u{at}",
            title="a unit",
            source="x.log",
            timing=Timing(p2_ms=50, p2_star_ms=5000, s3_ms=5000),
            address=AddressPair(request=f"6B{at}", answer=f"6C{at}"),
            identification=(),
            candidates=candidates,
        )
        for at, candidates in enumerate(units)
    )
    return VehicleMap(format="witnessmark-vehicle-map/1", id="v", title="v", source="x.log", units=made, evidence=HEARD)


def said(found: VehicleMap) -> list[list[str]]:
    return [[f"{one.id}: {'; '.join(one.said)}" for one in unit.candidates if one.said] for unit in found.units]


def test_a_remark_goes_to_the_start_that_is_nearest_and_a_far_one_to_nothing() -> None:
    known = vehicle((candidate("31-7310", 100, 150), candidate("31-7320", 120)))
    found, places = put(known, [(103 * S, "front starts"), (118 * S, "rear starts"), (300 * S, "coffee")])
    assert places == ("31-7310", "31-7320", "")
    assert said(found) == [["31-7310: front starts", "31-7320: rear starts"]]


def test_a_start_that_was_refused_takes_its_remark_though_another_ran_shortly_before() -> None:
    known = vehicle((candidate("31-7310", 100), candidate("31-7320", refused_s=(110,))))
    found, places = put(known, [(111 * S, "rear refused")])
    assert places == ("31-7320",)
    assert said(found) == [["31-7320: rear refused"]]


def test_a_remark_is_said_of_one_unit_only() -> None:
    known = vehicle((candidate("31-7310", 100),), (candidate("31-7310", 105),))
    found, places = put(known, [(104 * S, "pump starts")])
    assert places == ("31-7310",)
    assert said(found) == [[], ["31-7310: pump starts"]]


def test_a_refused_start_that_was_heard_keeps_its_moment(tmp_path: Path) -> None:
    bay = RecordedTruck()
    bay.truck.around.gear = "N"
    bay.ask("1003")
    at_s = bay.truck.now_s
    bay.ask(WIRE_COMMANDS[1].requests(5)[0].hex())
    reading = read_recording(open_recording(bay.write(tmp_path / "bay.log")))
    learned = listen(reading, "bay.log").vehicle("truck", "truck")
    (one,) = learned.units[0].candidates
    assert [round((int(ns) - ORIGIN.wall_ns) / S - at_s, 1) for ns in one.refused_ns] == [0.0]
    found, places = put(learned, [(ORIGIN.wall_ns + round((at_s + 2) * S), "refused: not in park")])
    assert places == ("31-7320",) and found.units[0].candidates[0].said == ("refused: not in park",)

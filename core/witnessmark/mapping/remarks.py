"""What a person typed while another tester was heard, put to the wire command that was asked for then.

The map of a vehicle and remarks (wall ns, text) flow in; the map with each remark said of a candidate flows out. Rule
that holds here: a remark belongs to the one start nearest to it, whether that ran or was refused, on whatever unit; one
that no start is near to belongs to nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from witnessmark.mapping.facts import Candidate
from witnessmark.mapping.model import VehicleMap

NEAR_NS = 30_000_000_000
"""A remark belongs to a start at most so long before or after it. Common practice, no source."""


def put(vehicle: VehicleMap, remarks: Sequence[tuple[int, str]]) -> tuple[VehicleMap, tuple[str, ...]]:
    """Return the map with the remarks in it, and the id of the candidate of each; empty for one put to nothing."""
    said: dict[tuple[int, str], list[str]] = {}
    places = []
    for at_ns, text in remarks:
        off_ns, unit, candidate = min(_starts(vehicle, at_ns), default=(NEAR_NS + 1, 0, ""))
        near = off_ns <= NEAR_NS
        places.append(candidate if near else "")
        if near:
            said.setdefault((unit, candidate), []).append(text)
    units = tuple(
        msgspec.structs.replace(
            unit, candidates=tuple(_with(one, said.get((at, one.id), ())) for one in unit.candidates)
        )
        for at, unit in enumerate(vehicle.units)
    )
    return msgspec.structs.replace(vehicle, units=units), tuple(places)


def _starts(vehicle: VehicleMap, at_ns: int) -> Iterator[tuple[int, int, str]]:
    """How far each start is from a moment, the place of its unit and its candidate."""
    for place, unit in enumerate(vehicle.units):
        for one in unit.candidates:
            for start_ns in (*(run.start_ns for run in one.runs), *one.refused_ns):
                if start_ns:
                    yield abs(int(start_ns) - at_ns), place, one.id


def _with(one: Candidate, said: Sequence[str]) -> Candidate:
    return msgspec.structs.replace(one, said=(*one.said, *said)) if said else one

"""Two maps of one vehicle become one; two control units never do."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from tests.mapping.maps import TEXT
from tests.mapping.test_candidate import HEARD

from witnessmark.errors import InputError
from witnessmark.mapping.candidate import name
from witnessmark.mapping.facts import Evidence, Habits, IdentifierFact, ServiceFact, SessionFact, Spread
from witnessmark.mapping.join import join
from witnessmark.mapping.load import from_text, to_text, vehicle_from_text
from witnessmark.mapping.model import AddressPair, FunctionalFact, Identification, ProtocolMap, Timing, VehicleMap

PROBED, BY_EAR = Evidence("probed", "canbus"), Evidence("heard", "bay.log")


def read(identifier: str, value: str, of: Evidence = PROBED, **more: Any) -> IdentifierFact:
    return IdentifierFact(
        service="22", identifier=identifier, value=value, length=len(value) // 2, evidence=of, **{"values": 1, **more}
    )


def service(name: str, of: Evidence, **more: Any) -> ServiceFact:
    return ServiceFact(service=name, evidence=of, **more)


def session(number: int, of: Evidence, **more: Any) -> SessionFact:
    return SessionFact(session=number, answer="positive", evidence=of, **more)


BARE = msgspec.structs.replace(
    from_text(TEXT), conditions=(), wire_commands=(), invented=False, identification=(), source="bay.log"
)
PROBE = msgspec.structs.replace(
    BARE,
    source="canbus",
    evidence=PROBED,
    identification=(Identification("F187", "3141"), Identification("F195", "3142")),
    sessions=(session(1, PROBED, p2_ms=50, p2_star_ms=5000),),
    services=(service("22", PROBED, positive=9), service("31", PROBED, codes={"7F": 1})),
    identifiers=(read("F187", "3141"), read("F190", "3143"), read("F195", "3142")),
    habits=Habits(answer=Spread(count=50, least_us=1, median_us=2, p95_us=3, most_us=4), kept_alive="3E00"),
)
EAR = msgspec.structs.replace(
    BARE,
    address=AddressPair("7A0", "7A8"),
    evidence=BY_EAR,
    sessions=(session(3, BY_EAR, p2_ms=80, p2_star_ms=6000),),
    services=(service("22", BY_EAR, positive=2), service("31", BY_EAR, positive=4, codes={"78": 3})),
    identifiers=(read("F190", "3143", BY_EAR),),
    habits=Habits(pending=3, pending_most=2, kept_alive="3E80", kept_alive_ms=2000, longest_pause_ms=2100),
    candidates=(HEARD,),
)


def of(*units: ProtocolMap, **more: Any) -> VehicleMap:
    return VehicleMap(
        format="witnessmark-vehicle-map/1", id="v", title="truck", source=units[0].source, units=units, **more
    )


def changed(unit: ProtocolMap, **values: Any) -> VehicleMap:
    return of(msgspec.structs.replace(unit, **values))


@pytest.mark.parametrize("turned", [False, True])
def test_what_the_probe_read_and_what_listening_learned_come_into_one_map(turned: bool) -> None:
    joined = join(of(EAR), of(PROBE)) if turned else join(of(PROBE), of(EAR))
    (unit,) = joined.vehicle.units
    assert joined.by == {"7A0 > 7A8": ("F190",)}
    assert unit.identification == PROBE.identification and unit.candidates == (HEARD,)
    assert {one.session for one in unit.sessions} == {1, 3} and unit.timing == Timing(p2_ms=80, p2_star_ms=6000)
    assert unit.address == PROBE.address
    assert {one.service: one.evidence for one in unit.services} == {
        "22": BY_EAR if turned else PROBED,
        "31": BY_EAR,
    }, "a refusal is less than an answer"
    assert unit.habits is not None and unit.habits.answer is not None
    assert (unit.habits.answer.count, unit.habits.pending, unit.habits.kept_alive) == (50, 3, "3E80")
    assert set(unit.source.split("; ")) == {"canbus", "bay.log"} and vehicle_from_text(to_text(joined.vehicle))
    assert name(unit, "31-7310", "pump-front", "runs it").identification == PROBE.identification


@pytest.mark.parametrize("invented", [(True, True), (True, False), (False, True), (False, False)])
def test_only_what_is_all_practice_data_is_called_so(invented: tuple[bool, bool]) -> None:
    first, second = (
        msgspec.structs.replace(changed(unit, invented=one), invented=one)
        for unit, one in zip((PROBE, EAR), invented, strict=True)
    )
    joined = join(first, second).vehicle
    assert joined.invented is joined.units[0].invented is all(invented)


@pytest.mark.parametrize(
    ("second", "says"),
    [
        ({"identifiers": (read("F190", "3144"),)}, "F190 is 1C in the first and 1D in the second"),
        ({"identification": (Identification("F195", "3155"),)}, "F195 is 1B in the first and 1U in the second"),
        ({"address": AddressPair("7A1", "7A8")}, "is 7A0 > 7A8 in the first map and 7A1 > 7A8 in the second"),
        ({"identifiers": (read("F195", "3142", values=2), read("F190", "3143"))}, "F195 of 7A0 > 7A8 changed while"),
    ],
)
def test_two_control_units_are_never_mixed_whatever_anybody_says(second: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        join(of(PROBE), changed(EAR, **second), one_vehicle=True)


def test_where_nothing_shows_that_it_is_one_vehicle_a_person_has_to_say_so_and_the_map_tells() -> None:
    silent = changed(EAR, identifiers=())
    with pytest.raises(InputError, match="nothing that both know identifies 7A0 > 7A8") as refused:
        join(of(PROBE), silent)
    assert "--one-vehicle" in refused.value.hint
    said = join(of(PROBE), silent, one_vehicle=True)
    assert said.vehicle.source == said.vehicle.units[0].source == "canbus; bay.log, one vehicle as a person says"
    assert said.by == {"7A0 > 7A8": ()} and said.on_word


def test_the_same_software_in_one_unit_does_not_vouch_for_another_but_the_vehicles_number_does() -> None:
    other = AddressPair("7A1", "7A9")
    bare = [msgspec.structs.replace(one, address=other, identifiers=(), identification=()) for one in (PROBE, EAR)]
    software = msgspec.structs.replace(EAR, identifiers=(), identification=PROBE.identification)
    with pytest.raises(InputError, match="nothing that both know identifies 7A1 > 7A9"):
        join(of(PROBE, bare[0]), of(software, bare[1]))
    vouched = join(of(PROBE, bare[0]), of(EAR, bare[1]))
    assert len(vouched.vehicle.units) == 2 and not vouched.on_word, "and nobody's word was needed"


def test_units_that_only_one_knows_and_functional_addresses_stay() -> None:
    other = msgspec.structs.replace(EAR, address=AddressPair("7A1", "7A9"))
    found = join(of(PROBE), of(EAR, other, functional=(FunctionalFact(request="7DF", asked={"3E": 2}),))).vehicle
    assert [one.address.answer for one in found.units] == ["7A8", "7A9"] and found.functional[0].asked == {"3E": 2}


def test_two_units_on_one_address_of_a_recording_are_not_guessed_at() -> None:
    with pytest.raises(InputError, match="two control units answer on 7A8"):
        join(of(PROBE), of(EAR, EAR))


def test_what_two_people_described_differently_is_refused_and_not_dropped() -> None:
    rear = msgspec.structs.replace(HEARD, start="31017311")
    with pytest.raises(InputError, match="both have a candidate 31-7310, and they are not the same"):
        join(of(EAR), changed(EAR, candidates=(rear,)))
    assert join(of(EAR), of(EAR)).vehicle.units[0].candidates == (HEARD,)


def test_a_map_that_somebody_wrote_keeps_its_times() -> None:
    written = msgspec.structs.replace(from_text(TEXT), identification=PROBE.identification, timing=Timing(p2_ms=33))
    for found in (join(of(written), of(PROBE)), join(of(PROBE), of(written))):
        (unit,) = found.vehicle.units
        assert unit.timing.p2_ms == 33 and unit.wire_commands == written.wire_commands and unit.evidence is None

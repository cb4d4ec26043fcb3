"""A candidate gets its name, and is bound by what was seen of it; its first live use is guarded."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from tests.mapping.maps import TEXT

from witnessmark.errors import InputError
from witnessmark.mapping.candidate import add, name, unit_of
from witnessmark.mapping.facts import Candidate, Evidence, Observed, Run
from witnessmark.mapping.first_use import QUESTIONS, FirstUse, reasons, shortest_s
from witnessmark.mapping.load import from_document, from_text, to_document
from witnessmark.mapping.model import AddressPair, Identification, ProtocolMap, VehicleMap, WireCommand
from witnessmark.mapping.never_sent import reasons as never

SEEN = Observed(runs=3, ended=3, shortest_ms=4100, longest_ms=10_400, rest_ms=15_200, session=3, pending_ms=700)
HEARD = Candidate(
    id="31-7310", start="31017310", stop="31027310", results="31037310", observed=SEEN,
    runs=(Run(start_ns="100000000000", request="31017310", ms=4100),), evidence=Evidence("heard", "bay.log"),
)  # fmt: skip


def unit(**values: Any) -> ProtocolMap:
    return msgspec.structs.replace(from_text(TEXT), candidates=(msgspec.structs.replace(HEARD, **values),))


def named(of: ProtocolMap, **values: Any) -> ProtocolMap:
    return name(of, "31-7310", "pump-front", "runs the pump", **values)


def vehicle(*units: ProtocolMap) -> VehicleMap:
    return VehicleMap(format="witnessmark-vehicle-map/1", id="v", title="truck", source="bay.log", units=units)


def test_a_candidate_that_one_unit_alone_has_needs_no_address_and_that_of_several_does() -> None:
    front = unit()
    rear = msgspec.structs.replace(unit(id="31-7320"), address=AddressPair("7A1", "7A9"))
    assert unit_of(vehicle(front, rear), "31-7310") is front
    assert unit_of(vehicle(front, rear), "31-7320") is rear is unit_of(vehicle(front, rear), "31-7320", "7a9")
    with pytest.raises(InputError, match="no control unit has a candidate '31-7399'") as missing:
        unit_of(vehicle(front, rear), "31-7399")
    assert missing.value.hint == "there are: 31-7310 (7A8), 31-7320 (7A9)"
    both = msgspec.structs.replace(unit(), address=AddressPair("7A1", "7A9"))
    with pytest.raises(InputError, match="2 control units have a candidate 31-7310: 7A8, 7A9") as twice:
        unit_of(vehicle(front, both), "31-7310")
    assert "--unit 7A8" in twice.value.hint
    with pytest.raises(InputError, match="no unit answers on 7AA"):
        unit_of(vehicle(front, rear), "31-7310", "7AA")


def test_a_named_candidate_is_a_learned_wire_command_bound_by_what_was_seen() -> None:
    found = named(unit())
    command = found.wire_commands[-1]
    assert (command.longest_s, command.cool_down_s, command.session, command.origin) == (10, 16, 3, "learned")
    assert command.observed == SEEN and found.candidates == () and never(command, found.address) == ()
    assert from_document(to_document(found)) == found


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"longest_s": 11}, "longer than what was seen"),
        ({"longest_s": 0}, "longer than what was seen"),
        ({"cool_down_s": 15}, "shorter than the shortest pause"),
        ({"preconditions": ("oil",)}, "reads no condition 'oil'"),
    ],
)
def test_what_goes_beyond_what_was_seen_is_refused(values: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        named(unit(), **values)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"start": "310173.."}, "varies in a way nobody explained"),
        ({"stop": ""}, "no request that stops it"),
        ({"observed": msgspec.structs.replace(SEEN, longest_ms=None, shortest_ms=None, ended=0)}, "seen to its end"),
        ({"observed": msgspec.structs.replace(SEEN, rest_ms=None)}, "no pause between two runs"),
        ({"id": "31-7320"}, "no candidate"),
    ],
)
def test_a_candidate_that_lacks_something_keeps_no_name(values: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        named(unit(**values))


def test_a_cool_down_after_which_it_was_refused_as_too_soon_is_refused_at_once() -> None:
    heard = unit(observed=msgspec.structs.replace(SEEN, rest_ms=None, refused_rest_ms=5300))
    for too_short in (3, 5):
        with pytest.raises(InputError, match="after 5300 ms it was refused as too soon") as refused:
            named(heard, cool_down_s=too_short)
        assert "6 s or more" in refused.value.hint
    command = named(heard, cool_down_s=6).wire_commands[-1]
    assert command.cool_down_s == 6 and never(command, heard.address) == ()


def test_a_name_that_is_taken_is_refused() -> None:
    with pytest.raises(InputError, match="taken"):
        name(unit(), "31-7310", "pump", "runs the pump")


@pytest.mark.parametrize("id_", ["purge rear!", "", " ", "-rear", "x" * 65, "purge\nrear", "h\u00e4"])
def test_a_name_that_no_procedure_can_write_is_refused_with_the_form(id_: str) -> None:
    with pytest.raises(InputError, match="no name that a pass") as refused:
        name(unit(), "31-7310", id_, "runs the pump")
    assert "letters, digits, dot, dash and underscore" in refused.value.hint


def test_a_name_without_words_is_refused() -> None:
    with pytest.raises(InputError, match="nothing says what it does"):
        name(unit(), "31-7310", "pump-front", " ")


def test_a_second_candidate_is_added_to_the_map_that_has_the_first() -> None:
    rear = msgspec.structs.replace(HEARD, id="31-7320", start="31017320", stop="31027320", results="")
    both = msgspec.structs.replace(unit(), candidates=(HEARD, rear))
    first = name(both, "31-7310", "pump-front", "runs it")
    found = add(first, name(both, "31-7320", "pump-rear", "runs the other"))
    assert [one.id for one in found.wire_commands] == ["pump", "pump-front", "pump-rear"] and found.candidates == ()
    with pytest.raises(InputError, match="'pump-rear' is taken there"):
        add(found, name(both, "31-7310", "pump-rear", "runs it"))


@pytest.mark.parametrize(
    ("other", "says"),
    [
        ({"address": AddressPair("7A1", "7A8", functional="7DF")}, "another control unit: 7A0 > 7A8, and this is 7A1"),
        ({"identification": (Identification("F189", "0103"),)}, "they identify themselves differently"),
    ],
)
def test_wire_commands_of_two_control_units_do_not_come_into_one_map(other: dict[str, Any], says: str) -> None:
    named_elsewhere = named(msgspec.structs.replace(unit(), **other))
    with pytest.raises(InputError, match=says) as refused:
        add(unit(), named_elsewhere)
    assert "--force" in refused.value.hint


COMMAND: WireCommand = named(unit()).wire_commands[-1]
YES = dict.fromkeys(QUESTIONS, True)


def first(**values: Any) -> tuple[str, ...]:
    use = FirstUse(lead="l-heron", answers=YES, open_nipples=(), seconds=4)
    changed = FirstUse(
        **{key: values.get(key, getattr(use, key)) for key in ("lead", "answers", "open_nipples", "seconds")}
    )
    return tuple(one.why for one in reasons(values.get("command", COMMAND), changed))


def test_a_first_use_with_everything_in_place_may_be_armed_for_the_shortest_time_seen() -> None:
    assert shortest_s(COMMAND) == 4 and first() == ()


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({"lead": ""}, "lead present"),
        ({"open_nipples": ("rl",)}, "a nipple is open: rl"),
        ({"answers": {**YES, "first-nipples-shut": False}}, "all nipples shut? no"),
        ({"answers": {**YES, "first-wheels-clear": False}}, "clear of wheels"),
        ({"answers": dict.fromkeys(list(QUESTIONS)[:2], True)}, "second person stand at the stop? no answer"),
        ({"seconds": 5}, "it runs 4 s the first time, not 5 s"),
        ({"seconds": 3}, "it runs 4 s the first time, not 3 s"),
        ({"command": msgspec.structs.replace(COMMAND, observed=None)}, "observed to its end"),
    ],
)
def test_each_thing_that_is_missing_refuses_the_first_use(values: dict[str, Any], says: str) -> None:
    found = first(**values)
    assert len(found) == 1 and says in found[0]

"""The table of what is never sent: one rule a row, each with the smallest change that brings it about."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from witnessmark.mapping.facts import Observed
from witnessmark.mapping.model import AddressPair, WireCommand
from witnessmark.mapping.never_sent import NEVER_NEEDED, candidate_reasons, reasons, run_reasons

SEEN = Observed(runs=3, ended=3, shortest_ms=4000, longest_ms=10_400, seconds=(4, 6, 10), session=3)
LEARNED = WireCommand(
    id="pump", words="runs the pump", start="31017310{seconds}", stop="31027310", results="31037310",
    longest_s=10, cool_down_s=15, origin="learned", observed=SEEN,
)  # fmt: skip
ADDRESS = AddressPair("6B3", "6BB", functional="7DF")


def changed(**values: Any) -> WireCommand:
    return msgspec.structs.replace(LEARNED, **values)


def observed(**values: Any) -> WireCommand:
    return changed(observed=msgspec.structs.replace(SEEN, **values))


def rules(command: WireCommand, address: AddressPair = ADDRESS) -> list[str]:
    return [one.rule for one in reasons(command, address)]


def test_nothing_forbids_a_well_observed_routine_or_output_control() -> None:
    assert rules(LEARNED) == []
    assert rules(changed(start="2F710103{seconds}", stop="2F710100", results="")) == []


def test_a_rest_as_long_as_the_shortest_seen_is_enough_also_after_a_longer_one_was_too_short_once() -> None:
    assert rules(observed(rest_ms=15_000)) == rules(observed(rest_ms=14_001, refused_rest_ms=16_000)) == []


@pytest.mark.parametrize(
    ("command", "rule"),
    [
        (changed(start="11010000"), "service"),
        (changed(start="2701"), "service"),
        (changed(start="2E710301"), "service"),
        (changed(start="3400440000"), "service"),
        (changed(start="1400FFFF"), "service"),
        (changed(start="31027310"), "service"),
        (changed(start="2F710101"), "service"),
        (changed(start=""), "service"),
        (changed(stop=""), "no-stop"),
        (changed(stop="31017310"), "service"),
        (changed(stop="1101"), "service"),
        (changed(stop="31027320"), "service"),
        (changed(stop="2F731000"), "service"),
        (changed(results="2E7310"), "service"),
        (changed(session=2), "programming-session"),
        (changed(observed=None), "no-evidence"),
        (changed(longest_s=12), "beyond-observed"),
        (changed(observed=msgspec.structs.replace(SEEN, rest_ms=97_500), cool_down_s=97), "beyond-observed"),
        (changed(observed=msgspec.structs.replace(SEEN, rest_ms=97_500), cool_down_s=0), "beyond-observed"),
        (changed(observed=msgspec.structs.replace(SEEN, refused_rest_ms=15_000)), "beyond-observed"),
        (observed(session=2), "programming-session"),
        (observed(session=0x85), "programming-session"),
        (observed(session=0x05), "programming-session"),  # 85 of ISO 14230-3, its answer not heard
        (observed(session=0x89), "kwp-session"),
        (observed(functional=True), "functional"),
        (observed(varied=("byte 5 of the start counts up",)), "varied"),
        (observed(ended=0, longest_ms=None, shortest_ms=None), "end-never-seen"),
        (observed(runs=0, ended=0, longest_ms=None, shortest_ms=None), "never-ran"),
        *((observed(needs=(f"{service:02X}",)), "needs") for service in NEVER_NEEDED),
    ],
)
def test_each_rule_refuses_and_alone(command: WireCommand, rule: str) -> None:
    assert set(rules(command)) == {rule}


@pytest.mark.parametrize(
    ("routine", "refused"),
    [
        ("E1FF", False), ("E200", True), ("E201", True), ("E2FF", True), ("E300", False),
        ("FEFF", False), ("FF00", True), ("FF01", True), ("FF02", True), ("FFFF", True),
    ],
)  # fmt: skip
def test_routines_that_the_standard_gives_to_firing_erasing_and_programming_are_never_sent(
    routine: str, refused: bool
) -> None:  # ISO 14229-1:2020, annex F.1, from memory
    published = changed(origin="published", observed=None, results="")
    command = msgspec.structs.replace(published, start=f"3101{routine}", stop=f"3102{routine}")
    assert rules(command) == (["routine"] if refused else [])
    output = msgspec.structs.replace(published, start=f"2F{routine}03", stop=f"2F{routine}00")
    assert rules(output) == []


def test_the_services_that_forbid_are_those_the_rules_name() -> None:
    writes = {0x3B, 0x3D}  # as 2E does: by local identifier (ISO 14230-3, from memory), into memory (ISO 14229-1, 11.8)
    assert set(NEVER_NEEDED) == {0x27, 0x29, 0x2E, *range(0x34, 0x39), 0x11, 0x28, 0x85} | writes


@pytest.mark.parametrize(
    "address",
    [
        AddressPair("7DF", "6BB"),
        AddressPair("6B3", "6BB", functional="6B3"),
        AddressPair("18DB33F1", "18DAF128", bits=29),
        AddressPair("18DAFFF1", "18DAF128", bits=29),
        AddressPair("18CDFFF1", "18CEF128", bits=29),
        AddressPair("33", "33", bits=8, transport="iso14230"),
        AddressPair("E400", "1010", bits=16, transport="iso13400"),
    ],
)
def test_an_address_that_many_listen_to_refuses_published_commands_too(address: AddressPair) -> None:
    published = changed(origin="published", observed=None)
    assert rules(published) == [] and rules(published, address) == ["functional"]


def test_a_unit_that_was_only_heard_answering_cannot_be_sent_anything() -> None:
    assert rules(LEARNED, AddressPair("", "6BB")) == ["no-address"]


@pytest.mark.parametrize("bytes_", [{"extension": "55"}, {"extension": "F1", "request_extension": "12"}])
def test_a_unit_behind_an_address_byte_cannot_be_sent_anything(bytes_: dict[str, str]) -> None:
    published = changed(origin="published", observed=None)
    assert rules(published, AddressPair("6F1", "612", **bytes_)) == ["no-address"]


@pytest.mark.parametrize(
    ("seconds", "refused"),
    [(0, True), (3, True), (4, False), (7, False), (10, False), (11, True), (255, True)],
)
def test_a_run_stays_within_the_map_and_within_what_was_observed(seconds: int, refused: bool) -> None:
    assert bool(run_reasons(LEARNED, seconds)) == refused


def test_a_published_command_is_bound_by_its_longest_run_alone() -> None:
    published = changed(origin="published", observed=None)
    assert not run_reasons(published, 3) and run_reasons(published, 11)[0].rule == "too-long"


def test_a_candidate_is_held_to_the_same_rules() -> None:
    assert candidate_reasons("2F710103..", "2F710100", "", SEEN, ADDRESS) == ()
    found = candidate_reasons("310173..", "", "", msgspec.structs.replace(SEEN, ended=0), ADDRESS)
    assert {one.rule for one in found} == {"service", "no-stop", "end-never-seen"}

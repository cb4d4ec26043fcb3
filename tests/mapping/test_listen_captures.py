"""Recordings that others made: what three independent readers found in them is what the map says."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from pathlib import Path

import pytest
from tests.recording.traffic import Bus

from witnessmark.errors import InputError
from witnessmark.mapping.candidate import name
from witnessmark.mapping.listen import listen
from witnessmark.mapping.load import to_text, vehicle_from_text
from witnessmark.mapping.model import VehicleMap
from witnessmark.mapping.words import address
from witnessmark.recording.file import open_recording
from witnessmark.recording.reading import read_frames, read_recording

CAPTURES = Path(__file__).parents[1] / "captures"
EXPECTED = {
    one["file"]: one["expected"]
    for one in json.loads((CAPTURES / "manifest.json").read_text(encoding="utf-8"))["files"]
}
"""Counted by an own reader, scapy and tshark: see manifest.json for which found what."""


@cache
def vehicle(name: str) -> VehicleMap:
    reading = read_recording(open_recording(CAPTURES / name))
    return listen(reading, name).vehicle("capture", "a recording of others")


def pairs(found: VehicleMap) -> dict[str, str]:
    return {f"0x{one.address.request.lower()}": f"0x{one.address.answer.lower()}" for one in found.units
            if one.address.request}  # fmt: skip


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log"])
def test_exactly_the_pairs_that_spoke_are_found(name: str) -> None:
    assert pairs(vehicle(name)) == EXPECTED[name]["physical_pairs"]


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log", "answers-only.log"])
def test_exactly_the_units_that_answered_are_found(name: str) -> None:
    assert [f"0x{one.address.answer.lower()}" for one in vehicle(name).units] == EXPECTED[name]["response_ids"]


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log"])
def test_every_service_was_asked_and_answered_as_often_as_expected(name: str) -> None:
    found, expected = vehicle(name), EXPECTED[name]
    asked: Counter[str] = Counter()
    answered: Counter[str] = Counter()
    for functional in found.functional:
        asked.update(functional.asked)
    for unit in found.units:
        for service in unit.services:
            asked[service.service] += service.asked
            answered[f"{int(service.service, 16) | 0x40:02X}"] += service.positive
            answered.update({f"7F{service.service}/{code}": count for code, count in service.codes.items()})
    assert {name: count for name, count in asked.items() if count} == expected["request_sids"]
    assert {name: count for name, count in answered.items() if count} == expected["response_sids"]
    assert [f"0x{one.request.lower()}" for one in found.functional] == expected["functional_request_ids"]


def test_ordinary_traffic_gives_an_empty_map() -> None:
    found = vehicle("no-diagnostics.log")
    assert found.units == () and found.functional == ()


def test_answers_without_requests_give_units_that_nothing_can_be_sent_to() -> None:
    found = vehicle("answers-only.log")
    assert [one.address.request for one in found.units] == ["", ""]
    assert all(one.services[0].positive > 100 and one.services[0].asked == 0 for one in found.units)


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log", "answers-only.log"])
def test_a_learned_map_is_read_back_the_same(name: str) -> None:
    found = vehicle(name)
    assert vehicle_from_text(to_text(found)) == found


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log"])
def test_no_wire_command_is_invented(name: str) -> None:
    assert EXPECTED[name]["routine_0x31_requests"] == EXPECTED[name]["iocontrol_0x2F_requests"] == 0
    assert all(one.candidates == () and one.wire_commands == () for one in vehicle(name).units)


def learned(bus: Bus) -> VehicleMap:
    """What is learned of frames made here, after the map went through its text."""
    map_ = listen(read_frames(bus.frames), "made").vehicle("v", "made")
    return vehicle_from_text(to_text(map_))


def test_with_extended_addressing_requests_and_answers_each_keep_their_own_address_byte() -> None:
    bus = Bus()
    for _ in range(4):
        for target, unit in ((0x12, 0x612), (0x40, 0x640)):
            for request, answer in (("22f190", "62f19031"), ("31010203", "71010203"), ("31020203", "71020203")):
                for number, byte, payload in ((0x6F1, target, request), (unit, 0xF1, answer)):
                    data = bytes.fromhex(payload)
                    bus.put(number, bytes([byte, len(data)]) + data + bytes(6 - len(data)))
            bus.wait(3000)
    units = learned(bus).units
    assert [(one.address.request, one.address.request_extension) for one in units] == [("6F1", "12"), ("6F1", "40")]
    assert [(one.address.answer, one.address.extension) for one in units] == [("612", "F1"), ("640", "F1")]
    assert [address(one.address) for one in units] == ["6F1/12 > 612/F1", "6F1/40 > 640/F1"]
    never = [candidate.never for one in units for candidate in one.candidates]
    assert never == [("its frames carry an address byte, and none are sent with one",)] * 2


def test_a_tester_present_that_was_refused_or_asked_of_all_keeps_a_unit_once_or_not_at_all() -> None:
    bus = Bus()
    for _ in range(3):
        bus.say(0x7DF, "3e00")
        bus.say(0x7E8, "7e00")
        bus.say(0x7E9, "7f3e12")
        bus.wait(2000)
    kept, refused = learned(bus).units
    assert kept.habits is not None and refused.habits is not None
    assert (kept.habits.kept_alive, kept.habits.kept_alive_ms) == ("3E00", 2003)
    assert (refused.habits.kept_alive, refused.habits.kept_alive_ms) == ("", None)


def test_holding_an_output_still_or_resetting_it_is_no_run() -> None:
    bus = Bus()
    for option in ("01", "02"):
        bus.say(0x7E0, f"2f0200{option}")
        bus.say(0x7E8, f"6f0200{option}")
    assert [one.candidates for one in learned(bus).units] == [()]


def test_a_session_of_iso_14230_keeps_its_whole_number_and_nothing_that_ran_in_it_is_sent() -> None:
    bus = Bus()
    for request, answer in (("1090", "5090"), ("31017320", "71017320"), ("31027320", "71027320")):
        bus.say(0x7E0, request)
        bus.say(0x7E8, answer)
        bus.wait(3000)
    (unit,) = learned(bus).units
    assert [(one.session, one.name, one.answer) for one in unit.sessions] == [(0x90, "0x90", "positive")]
    assert unit.candidates[0].never == ("it ran in a session of ISO 14230-3, which is not entered from here",)
    with pytest.raises(InputError, match="ISO 14230-3"):
        name(unit, "31-7320", "x", "runs")

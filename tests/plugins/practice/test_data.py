"""The practice truck's procedure, map and profiles agree with the truck and with each other."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest

from witnessmark import quantity
from witnessmark.mapping import load as map_file
from witnessmark.mapping.model import ProtocolMap
from witnessmark.procedure import load as procedure_file
from witnessmark.procedure.model import Procedure
from witnessmark_practice.control_unit import P2_S, P2_STAR_S, S3_S
from witnessmark_practice.hydraulics import make_lines
from witnessmark_practice.identity import IDENTIFICATION
from witnessmark_practice.node import ANSWER_ID, FUNCTIONAL_ID, REQUEST_ID
from witnessmark_practice.trouble_codes import SUPPORTED
from witnessmark_practice.wire_commands import WIRE_COMMANDS
from witnessmark_prompt.loading import load_profile
from witnessmark_prompt.reading import Reading

DATA = Path(str(files("witnessmark_practice"))) / "data"


@pytest.fixture(scope="module")
def procedure() -> Procedure:
    return procedure_file.load(DATA / "procedure.toml")


@pytest.fixture(scope="module")
def protocol_map() -> ProtocolMap:
    return map_file.load(DATA / "map.json")


def test_both_documents_say_that_they_are_invented(procedure: Procedure, protocol_map: ProtocolMap) -> None:
    assert procedure.invented and protocol_map.invented


def test_eight_passes_visit_six_nipples_with_four_wire_commands(
    procedure: Procedure, protocol_map: ProtocolMap
) -> None:
    assert len(procedure.passes) == 8
    assert {name for one in procedure.passes for name in one.nipples} == {one.id for one in procedure.nipples}
    assert len(procedure.nipples) == 6
    assert {one.wire_command for one in procedure.passes} == {one.id for one in protocol_map.wire_commands}
    assert len(protocol_map.wire_commands) == 4


def test_nipples_and_circuits_are_those_of_the_truck(procedure: Procedure) -> None:
    assert {one.id: one.circuit for one in procedure.nipples} == {
        name: line.circuit for name, line in make_lines().items()
    }


def test_each_pass_opens_nipples_that_its_wire_command_acts_on(procedure: Procedure) -> None:
    heads = {command.id: set(command.heads) for command in WIRE_COMMANDS}
    for one in procedure.passes:
        assert set(one.nipples) <= heads[one.wire_command], one.id


def test_no_pass_runs_longer_than_map_and_pump_allow(procedure: Procedure, protocol_map: ProtocolMap) -> None:
    longest = {one.id: one.longest_s for one in protocol_map.wire_commands}
    assert procedure.pump is not None
    allowed = quantity.parse(procedure.pump.longest_run, place="pump").number
    for one in procedure.passes:
        seconds = quantity.parse(one.seconds, place=one.id).number
        assert seconds <= longest[one.wire_command]
        assert seconds <= allowed


def test_the_map_describes_the_control_unit_as_it_is(protocol_map: ProtocolMap) -> None:
    address, timing = protocol_map.address, protocol_map.timing
    assert [int(each, 16) for each in (address.request, address.answer, address.functional)] == [
        REQUEST_ID,
        ANSWER_ID,
        FUNCTIONAL_ID,
    ]
    assert (timing.p2_ms, timing.p2_star_ms, timing.s3_ms) == (P2_S * 1000, P2_STAR_S * 1000, S3_S * 1000)
    for known in protocol_map.identification:
        assert bytes.fromhex(known.value) == IDENTIFICATION[int(known.identifier, 16)]


def test_the_map_describes_each_wire_command_as_it_is(protocol_map: ProtocolMap) -> None:
    for said, built in zip(protocol_map.wire_commands, WIRE_COMMANDS, strict=True):
        start = {0x31: "3101%04X", 0x2F: "2F%04X03"}[built.service] % built.identifier
        stop = {0x31: "3102%04X", 0x2F: "2F%04X00"}[built.service] % built.identifier
        assert said.id == built.id
        assert said.start == start + ("{seconds}" if built.takes_seconds else "")
        assert said.stop == stop
        assert (said.longest_s, said.cool_down_s) == (built.longest_s, built.cool_down_s)
        assert ("goes on" in said.on_lost_session) == built.outlives_session
        assert said.budget_ms > 1000 * max(built.start_work_s, built.stop_work_s)


def test_every_precondition_can_be_read_from_the_map(procedure: Procedure, protocol_map: ProtocolMap) -> None:
    assert {one.name for one in procedure.preconditions} <= {one.name for one in protocol_map.conditions}


def test_codes_set_by_the_work_are_codes_that_the_unit_has(procedure: Procedure) -> None:
    known = {f"C{code >> 16 & 0x3F:02X}{code >> 8 & 0xFF:02X}-{code & 0xFF:02X}" for code in SUPPORTED}
    assert set(procedure.codes_set_by_work) <= known


@pytest.mark.parametrize("name", ["profile.toml", "profile_messages.toml"])
def test_the_shipped_profiles_are_right(name: str) -> None:
    reference = f"witnessmark_practice:{name}"
    reading = Reading(load_profile(reference), reference)
    assert reading.write(0x6B3, False, b"\x02\x3e\x00") == "CARRY 6B3 LONG 3 BODY 023E00 SUM %02X" % (
        sum(b"CARRY 6B3 LONG 3 BODY 023E00") & 0xFF
    )

"""Probing identifiers of 29 bits, OBD and a K-line, held at the ears of who was asked."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from tests.mapping.test_probe import KNOWN, READS, heard, probe
from tests.plugins.kline.simulated_line import SimulatedLine
from tests.plugins.practice.truck_process import TruckProcess, running

from witnessmark.clock import ManualClock
from witnessmark.errors import PeerError
from witnessmark.host.speaking import conversation
from witnessmark.mapping.load import load_vehicle, to_text
from witnessmark.mapping.model import ProtocolMap
from witnessmark.mapping.peers import everybody, parse_peers, standard_peers
from witnessmark.mapping.probe import SILENCES, Probe, ProbePlan, Progress, learn
from witnessmark.mapping.probe_log import ProbeLog
from witnessmark.mapping.read_request import Accepted
from witnessmark.mapping.reader import Reader
from witnessmark.mapping.standstill import Standstill
from witnessmark.talk.conversation import Conversation
from witnessmark.wire import kline
from witnessmark.wire.obd.messages import as_on_can
from witnessmark_kline.message_link import KlineLink
from witnessmark_practice.identity import VIN

WIDE = ProbePlan((*standard_peers(extended=True)[0x0E:0x12], *parse_peers("18DA28F1")))
YES = True


def yes(question: str) -> bool:
    return YES


def values(unit: ProtocolMap) -> dict[tuple[str, str], str]:
    return {(one.service, one.identifier): one.value for one in unit.identifiers if one.value}


def assert_it_only_read(truck: TruckProcess) -> None:
    asked = set(heard(truck))
    assert asked and {one[:2] for one in asked} <= READS and "1003" not in asked
    assert truck.truth()["session"] == 1 and truck.truth()["runs"] == []


def test_units_with_29_bits_are_found_and_read_with_their_obd_lists(tmp_path: Path) -> None:
    with running(tmp_path / "yard", "--29bit", "--engine") as truck:
        truck.workshop.do("wake")
        with conversation(f"practice:{truck.folder}") as talk:
            log, why = probe(talk, tmp_path / "log", plan=WIDE, known=None, confirm=yes)
        assert why == ""
        assert_it_only_read(truck)
    engine, brakes = learn(log).vehicle("truck", "truck").units
    assert (engine.address.request, engine.address.answer, engine.address.bits) == ("18DA10F1", "18DAF110", 29)
    assert (brakes.address.request, brakes.address.functional) == ("18DA28F1", "18DB33F1")
    read = values(engine)
    assert {("01", "0D"), ("01", "1C"), ("01", "42"), ("02", "02"), ("02", "05"), ("09", "0A")} <= set(read)
    assert read["09", "02"] == "01" + VIN_BYTES.hex().upper() and read["01", "0D"] == "00"
    assert {one.request: one.codes for one in engine.codes} == {"03": ("P0128", "P2135"), "07": ("P0402",), "0A": ()}
    assert ("22", "F190") in values(brakes)
    named = {(one.service, one.identifier): (one.name, one.text) for one in engine.identifiers}
    assert named["09", "02"] == ("VIN", VIN) and named["09", "0A"] == ("control unit name", "ENGINE, PRACTICE")
    assert named["09", "00"] == ("supported information types", "02 and 0A")
    text = to_text(learn(log).vehicle("truck", "truck"))
    (tmp_path / "map.json").write_text(text, encoding="utf-8")
    assert len(load_vehicle(tmp_path / "map.json").units) == 2


@pytest.mark.parametrize(
    ("act", "item", "says"), [("roll", "", "moves: 3 km/h"), ("fault", "low-voltage", "low: 10.6")]
)
@pytest.mark.parametrize("wide", [False, True])
def test_obd_tells_that_the_vehicle_moves_or_its_supply_drops(
    tmp_path: Path, act: str, item: str, says: str, wide: bool
) -> None:
    options = ("--29bit", "--engine") if wide else ("--engine",)
    plan = WIDE if wide else ProbePlan(parse_peers("7E0") + parse_peers("6B3:6BB"))
    plan = ProbePlan(plan.peers, identifiers=((0x0100, 0x1000),))
    with running(tmp_path / "yard", *options) as truck:
        truck.workshop.do("wake")

        def meddle(progress: Progress) -> None:
            if "22 F1 90" in progress.doing:
                truck.workshop.do(act, item)

        with conversation(f"practice:{truck.folder}") as talk:
            _, why = probe(talk, tmp_path / "log", plan=plan, known=None, confirm=yes, tell=meddle)
        assert says in why and len(heard(truck)) < 0xF00


def test_obd_tells_what_a_map_that_reads_something_else_does_not(tmp_path: Path) -> None:
    gear_alone = msgspec.structs.replace(KNOWN, conditions=tuple(one for one in KNOWN.conditions if one.name == "gear"))
    plan = ProbePlan(parse_peers("7E0") + parse_peers("6B3:6BB"), identifiers=((0x0100, 0x1000),))
    with running(tmp_path / "yard", "--engine") as truck:
        truck.workshop.do("wake")

        def meddle(progress: Progress) -> None:
            if "22 F1 90" in progress.doing:
                truck.workshop.do("roll")

        with conversation(f"practice:{truck.folder}") as talk:
            _, why = probe(talk, tmp_path / "log", plan=plan, known=gear_alone, tell=meddle)
        assert why == "the vehicle moves: 3 km/h" and len(heard(truck)) < 0xF00


def test_a_unit_that_falls_silent_while_others_go_on_ends_it_soon(tmp_path: Path) -> None:
    plan = ProbePlan(parse_peers("7E0") + parse_peers("6B3:6BB"), identifiers=((0x0100, 0x1000),))
    with running(tmp_path / "yard", "--engine") as truck:
        truck.workshop.do("wake")

        def meddle(progress: Progress) -> None:
            if "6B3: 22 F1 90" in progress.doing:
                truck.workshop.do("fault", "silent")

        with conversation(f"practice:{truck.folder}") as talk:
            log, why = probe(talk, tmp_path / "log", plan=plan, known=None, confirm=yes, tell=meddle)
            assert why == "6B3 does not answer any more: is the vehicle awake?"
            silent = [one for one in log.lines if one.target == "6B3" and not one.answers]
            assert len(silent) == SILENCES + 1 and silent[-1].watch and silent[-1].request == "3E00"


class Ticking(ManualClock):
    """Waiting moves it on."""

    def real_s(self, clock_s: float) -> float:
        return clock_s


VIN_BYTES = VIN.encode("ascii")
ENGINE = {
    b"\x10\x01": [b"\x7f\x10\x12"],
    b"\x3e\x00": [b"\x7f\x3e\x12"],
    b"\x1a\x80": [b"\x5a\x80" + b"INVENTED 14"],
    b"\x21\x01": [b"\x61\x01\x22\x33"],
    b"\x03": [b"\x43\x01\x28\x21\x35\x04\x02", b"\x43\x05\x01\x00\x00\x00\x00"],
    b"\x07": [b"\x47" + bytes(6)],
    b"\x01\x00": [b"\x41\x00\x00\x08\x00\x00"],
    b"\x01\x0d": [b"\x41\x0d\x00"],
    b"\x09\x00": [b"\x49\x00\x01\x40\x00\x00\x00"],
    b"\x09\x02": [
        bytes((0x49, 0x02, number)) + part
        for number, part in enumerate((b"\0\0\0" + VIN_BYTES[:1], *(VIN_BYTES[at : at + 4] for at in (1, 5, 9, 13))), 1)
    ],
}  # fmt: skip


class Engine:
    """A unit at node 10 of a K-line. `asked` is what its ears had, StartCommunication left out."""

    def __init__(self, line: SimulatedLine) -> None:
        self.asked: list[bytes] = []
        self._line = line
        line.react = self._react

    def _react(self, sent: bytes) -> None:
        try:
            request = kline.decode(sent)
        except PeerError:
            return
        self._line.forget_sent()
        if request.target not in (0x10, 0x33):
            return
        if request.data == b"\x81":
            self._say(b"\xc1\xef\x8f", 0.03)
            return
        self.asked.append(request.data)
        answers = ENGINE.get(request.data, [b"\x7f" + request.data[:1] + b"\x11"])
        for number, answer in enumerate(answers):
            self._say(answer, 0.03 + 0.05 * number)

    def _say(self, payload: bytes, after_s: float) -> None:
        self._line.say(kline.encode(payload, target=0xF1, source=0x10), after_s)


def probe_kline(tmp_path: Path, plan: ProbePlan) -> tuple[Engine, ProbeLog]:
    clock = Ticking()
    line = SimulatedLine(clock)
    engine = Engine(line)
    talk = Conversation(KlineLink(line, clock), clock, floor_real_s=0.005)
    log = ProbeLog.open(tmp_path / "log", str(plan), "kline:")
    Probe(plan, Reader(talk, log, accepted=plan.extended_session), Standstill(None, yes, everybody(plan.peers))).run()
    log.close()
    return engine, log


def test_a_kline_is_probed_node_by_node_and_its_answers_in_parts_put_together(tmp_path: Path) -> None:
    engine, log = probe_kline(tmp_path, ProbePlan(parse_peers("0F-11"), local=((0x01, 0x02),)))
    assert {f"{one[0]:02X}" for one in engine.asked} <= READS and b"\x10\x03" not in engine.asked
    (unit,) = learn(log).vehicle("truck", "truck").units
    address = unit.address
    assert (address.request, address.answer, address.bits, address.transport) == ("10", "10", 8, "iso14230")
    assert address.functional == "33" and address.header == "addresses"
    read = values(unit)
    assert read["1A", "80"] == b"INVENTED 14".hex().upper() and read["21", "01"] == "2233"
    assert read["09", "02"] == "01" + VIN_BYTES.hex().upper() and read["01", "0D"] == "00"
    assert {one.request: one.codes for one in unit.codes} == {"03": ("P0128", "P2135", "P0402", "P0501"), "07": ()}
    services = {one.service: one for one in unit.services}
    assert services["22"].codes == {"11": 1}, "a service it does not have is not asked for again"
    (tmp_path / "map.json").write_text(to_text(learn(log).vehicle("truck", "truck")), encoding="utf-8")
    assert load_vehicle(tmp_path / "map.json").units[0].address == address


def test_a_kline_probe_asks_for_the_extended_session_only_with_its_caution(tmp_path: Path) -> None:
    engine, _ = probe_kline(tmp_path, ProbePlan(parse_peers("10"), extended_session=Accepted("t-otter")))
    assert b"\x10\x03" in engine.asked and {f"{one[0]:02X}" for one in engine.asked} <= READS


def test_a_kline_node_is_asked_nothing_when_nobody_says_that_it_is_parked(tmp_path: Path) -> None:
    clock = Ticking()
    line = SimulatedLine(clock)
    engine = Engine(line)
    _, why = probe(
        Conversation(KlineLink(line, clock), clock), tmp_path / "log", plan=ProbePlan(parse_peers("10")), known=None
    )
    assert why == "nobody said that the vehicle is parked"
    assert set(engine.asked) <= {b"\x01\x0d", b"\x01\x42"}


@pytest.mark.parametrize(
    ("parts", "whole"),
    [
        ([b"\x43\x01\x28\x00\x00\x00\x00"], b"\x43\x01\x01\x28"),
        ([b"\x43\x01\x28"], b"\x43\x01\x01\x28"),
        ([b"\x41\x0d\x00"], b"\x41\x0d\x00"),
        ([b"\x49\x04\x02EFGH", b"\x49\x04\x01ABCD"], b"\x49\x04\x01ABCDEFGH"),
        ([b"\x49\x00\x01\x40\x00\x00\x00"], b"\x49\x00\x40\x00\x00\x00"),
        ([b"\x43\x01\x28", b"\x47\x01\x28"], b"\x47\x01\x28"),
        ([b"\x49\x04\x01AB"], b"\x49\x04\x01AB"),
    ],
)
def test_messages_of_a_kline_become_the_one_that_can_would_carry(parts: list[bytes], whole: bytes) -> None:
    """ISO 15031-5, the answers of modes 03 and 09 on ISO 14230-4 and on ISO 15765-4 (from memory)."""
    assert as_on_can(parts) == whole

"""Probing the practice truck through its adapter, its ears open: what it heard, what was learned, when it stops."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from tests.plugins.practice.truck_process import TruckProcess, running

import witnessmark_practice
from witnessmark.clock import NS
from witnessmark.errors import InputError, LocalError
from witnessmark.host.speaking import conversation
from witnessmark.mapping.load import load
from witnessmark.mapping.model import ProtocolMap
from witnessmark.mapping.peers import everybody, fit, parse_peers, standard_peers
from witnessmark.mapping.probe import Probe, ProbePlan, Progress, learn
from witnessmark.mapping.probe_log import Logged, LoggedAnswer, ProbeLog
from witnessmark.mapping.read_request import Accepted, ReadRequest
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.resumed import NUMBERS
from witnessmark.mapping.standstill import Standstill
from witnessmark.mapping.unit import BINDING
from witnessmark.talk.conversation import Conversation
from witnessmark_practice.identity import IDENTIFICATION

KNOWN = load(Path(witnessmark_practice.__file__).parent / "data" / "map.json")
READS = {"10", "3E", "22", "19", "1A", "21", "01", "02", "03", "07", "09", "0A"}
QUESTION_S = 4
PEERS = (*standard_peers()[:3], *parse_peers("6B3:6BB"))


@pytest.fixture
def truck(tmp_path: Path) -> Iterator[TruckProcess]:
    with running(tmp_path / "yard") as truck:
        truck.workshop.do("wake")
        yield truck


@pytest.fixture
def talk(truck: TruckProcess) -> Iterator[Conversation]:
    with conversation(f"practice:{truck.folder}") as talk:
        yield talk


def probe(
    talk: Conversation,
    path: Path,
    *,
    plan: ProbePlan = ProbePlan(PEERS, identifiers=((0x7001, 0x7010),)),  # noqa: B008 - frozen
    known: ProtocolMap | None = KNOWN,
    confirm: Callable[[str], bool] = lambda question: False,
    tell: Callable[[Progress], None] = lambda progress: None,
    stop: Callable[[], bool] = lambda: False,
) -> tuple[ProbeLog, str]:
    """Return the log, and why it stopped; empty when it went through."""
    log = ProbeLog.open(path, str(plan), "practice:yard")
    reader = Reader(talk, log, accepted=plan.extended_session, stop=stop)
    try:
        Probe(plan, reader, Standstill(known, confirm, everybody(plan.peers)), tell).run()
    except ProbeStopped as end:
        return log, end.why
    finally:
        log.close()
    return log, ""


def heard(truck: TruckProcess) -> list[str]:
    return [one["payload"] for one in truck.truth()["requests"]]


def frames(trace: Path, identifier: str) -> list[bytes]:
    lines = trace.read_text(encoding="ascii").splitlines()
    return [bytes.fromhex(line.partition("#")[2]) for line in lines if f" {identifier}#" in line]


def test_the_truck_is_found_and_read_and_hears_nothing_but_reading_requests(tmp_path: Path) -> None:
    trace = tmp_path / "trace.log"
    with running(tmp_path / "yard", "--trace", str(trace)) as truck:
        truck.workshop.do("wake")
        with conversation(f"practice:{truck.folder}") as talk:
            log, why = probe(talk, tmp_path / "log")
        truth = truck.truth()
    assert why == ""
    found = learn(log).vehicle("truck", "truck")
    (unit,) = found.units
    assert found.silent == ("7E0-7E2",), "who was asked alone and gave no answer"
    assert (unit.address.request, unit.address.answer, unit.address.functional) == ("6B3", "6BB", "7DF")
    values = {one.identifier: one.value for one in unit.identifiers if one.value}
    for identifier, value in IDENTIFICATION.items():
        assert values[f"{identifier:04X}"] == value.hex().upper()
    assert {"7001", "7008"} <= set(values) and "7009" not in values
    assert {one.identifier: one.name for one in unit.identifiers}["F190"] == "VIN"
    assert unit.timing.p2_ms == 200 and unit.codes[0].codes == ("C1B41-54 2F", "C1B52-16 2C")
    assert {one.identifier for one in unit.identification} == {"F187", "F188", "F189", "F191", "F195"}
    listened = {one["payload"] for one in truth["requests"]}
    assert listened and {one[:2] for one in listened} <= READS and "1003" not in listened
    assert truth["session"] == 1 and truth["runs"] == []
    # The recording of the bus says the same of every frame that was sent to anybody.
    sent = [data for data in frames(trace, "6B3") + frames(trace, "7DF") + frames(trace, "7E0") if data[0] < 8]
    assert len(sent) > 50 and {f"{data[1]:02X}" for data in sent} <= READS


def test_services_that_nobody_asked_stay_unknown(talk: Conversation, tmp_path: Path) -> None:
    log, _ = probe(talk, tmp_path / "log")
    (unit,) = learn(log).vehicle("truck", "truck").units
    assert {one.service for one in unit.services} <= READS
    assert unit.wire_commands == () and unit.candidates == ()


def test_the_extended_session_is_entered_only_when_asked_for_and_left_again(
    truck: TruckProcess, talk: Conversation, tmp_path: Path
) -> None:
    plan = ProbePlan(PEERS[-1:], extended_session=Accepted("t-otter"))
    log, why = probe(talk, tmp_path / "log", plan=plan)
    assert why == "" and "1003" in heard(truck) and truck.truth()["session"] == 1
    (unit,) = learn(log).vehicle("truck", "truck").units
    assert [(one.session, one.answer) for one in unit.sessions] == [(1, "positive"), (3, "positive")]


def test_a_reader_without_the_caution_does_not_ask_for_the_extended_session(
    talk: Conversation, tmp_path: Path, truck: TruckProcess
) -> None:
    log = ProbeLog.open(tmp_path / "log", "plan", "practice:yard")
    reader = Reader(talk, log)
    for request in (ReadRequest(b"\x10\x03"), b"\x11\x01"):
        with pytest.raises(LocalError):
            reader.ask(PEERS[-1], request)  # type: ignore[arg-type]
    log.close()
    assert heard(truck) == []


def test_a_rolling_vehicle_is_asked_nothing_but_its_speed(
    truck: TruckProcess, talk: Conversation, tmp_path: Path
) -> None:
    truck.workshop.do("roll")
    _, why = probe(talk, tmp_path / "log")
    assert why == "the vehicle moves: 3 km/h"
    assert set(heard(truck)) <= {"227001", "227002", "227003"}


@pytest.mark.parametrize(
    ("act", "item", "says"),
    [
        ("roll", "", "the vehicle moves"),
        ("fault", "low-voltage", "the supply is low"),
        ("fault", "silent", "cannot be"),
    ],
)
def test_it_stops_when_the_vehicle_moves_or_its_supply_drops_or_it_falls_silent(
    truck: TruckProcess, talk: Conversation, tmp_path: Path, act: str, item: str, says: str
) -> None:
    def meddle(progress: Progress) -> None:
        if progress.doing.startswith("6B3: 22 F1 9"):
            truck.workshop.do(act, item)

    plan = ProbePlan(PEERS[-1:], identifiers=((0x0100, 0x1000),))
    _, why = probe(talk, tmp_path / "log", plan=plan, tell=meddle)
    assert says in why
    assert len(heard(truck)) < 0xF00


def test_where_nothing_can_be_read_a_person_is_asked_and_a_no_asks_the_vehicle_nothing_more(
    truck: TruckProcess, talk: Conversation, tmp_path: Path
) -> None:
    questions: list[str] = []
    _, why = probe(talk, tmp_path / "log", known=None, confirm=lambda question: bool(questions.append(question)))
    assert "nobody said" in why and "parked" in questions[0]
    assert set(heard(truck)) <= {"010D", "0142"}
    _, why = probe(talk, tmp_path / "log", known=None, confirm=lambda question: True)
    assert why == ""


def test_it_stops_when_asked_and_goes_on_where_it_was(truck: TruckProcess, talk: Conversation, tmp_path: Path) -> None:
    told: list[Progress] = []
    log, why = probe(talk, tmp_path / "log", tell=told.append, stop=lambda: len(told) > 20)
    assert why == "stopped as asked"
    first = {one.key for one in log.lines if not one.watch}
    before = len(heard(truck))
    again, why = probe(talk, tmp_path / "log")
    assert why == "" and {one.key for one in again.lines if not one.watch} > first
    later = [one for one in heard(truck)[before:] if one not in ("227001", "227002", "227003")]
    twice = {one for target, one in first if target == "6B3"} & set(later)
    assert "22F190" in twice and twice <= {"22" + one for one in (*NUMBERS, *BINDING)}, "who it is, and no more"
    (whole,) = learn(again).vehicle("truck", "truck").units
    straight, _ = probe(talk, tmp_path / "other")
    (at_once,) = learn(straight).vehicle("truck", "truck").units
    assert [one.identifier for one in whole.identifiers] == [one.identifier for one in at_once.identifiers]


def test_a_log_of_another_plan_or_of_something_else_is_refused(tmp_path: Path) -> None:
    begun = ProbeLog.open(tmp_path / "log", "this", "practice:yard")
    said = LoggedAnswer(source="6BB", payload="5001", first_ns="1", last_ns="1")
    begun.add(Logged(target="6B3", request="1001", asked_ns="0", answers=(said,)))
    begun.close()
    ProbeLog.open(tmp_path / "log", "this", "practice:yard").close()
    with pytest.raises(InputError, match="something else"):
        ProbeLog.open(tmp_path / "log", "that", "practice:yard")
    (tmp_path / "text").write_text("once upon a time\n", encoding="ascii")
    with pytest.raises(InputError, match="no log of a probe"):
        ProbeLog.open(tmp_path / "text", "this", "practice:yard")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"request":"1001"', b'"request":"31017320"'),
        (b'"request":"1001"', b'"request":"1002"'),
        (b'"request":"1001"', b'"request":"10"'),
        (b'"request":"1001"', b'"request":"1O01"'),
        (b'"target":"6B3"', b'"target":"6Z3"'),
        (b'"payload":"5001"', b'"payload":"500"'),
        (b'"asked_ns":"17"', b'"asked_ns":"soon"'),
    ],
)
def test_a_log_that_no_probe_can_have_written_is_refused_before_anything_is_asked(
    tmp_path: Path, old: bytes, new: bytes
) -> None:
    log = ProbeLog.open(tmp_path / "log", "plan", "practice:yard")
    said = LoggedAnswer(source="6BB", payload="5001", first_ns="18", last_ns="18")
    log.add(Logged(target="6B3", source="6BB", request="1001", asked_ns="17", answers=(said,)))
    log.close()
    ProbeLog.open(tmp_path / "log", "plan", "practice:yard").close()
    data = (tmp_path / "log").read_bytes()
    assert data.count(old) == 1
    (tmp_path / "log").write_bytes(data.replace(old, new))
    with pytest.raises(InputError) as caught:
        ProbeLog.open(tmp_path / "log", "plan", "practice:yard")
    assert caught.value.hint and (tmp_path / "log").read_bytes() == data.replace(old, new)


def test_a_line_that_was_cut_off_is_asked_again(talk: Conversation, tmp_path: Path) -> None:
    log, _ = probe(talk, tmp_path / "log")
    data = (tmp_path / "log").read_bytes()
    (tmp_path / "log").write_bytes(data[:-20])
    again, why = probe(talk, tmp_path / "log")
    assert why == "" and {one.key for one in again.lines} == {one.key for one in log.lines}
    assert all(json.loads(line) for line in (tmp_path / "log").read_bytes().splitlines())


def test_another_tester_on_the_bus_ends_it(truck: TruckProcess, talk: Conversation, tmp_path: Path) -> None:
    def meddle(progress: Progress) -> None:
        if progress.doing.startswith("6B3: 22 F1 8"):
            truck.workshop.do("tester", "3E00")

    _, why = probe(talk, tmp_path / "log", tell=meddle)
    assert "another tester is on the bus" in why


def test_progress_counts_to_the_end_and_the_time_left_to_nothing(talk: Conversation, tmp_path: Path) -> None:
    told: list[Progress] = []
    probe(talk, tmp_path / "log", tell=told.append)
    assert [one.done for one in told] == sorted(one.done for one in told)
    assert told[-1].done == told[-1].total and told[-1].left_s == 0
    assert all(one.done <= one.total for one in told)


def test_the_time_left_is_not_guessed_at_and_no_time_that_a_person_took_to_answer_counts(
    talk: Conversation, tmp_path: Path
) -> None:
    def slowly(question: str) -> bool:
        until_ns = talk.clock.mono_ns() + round(QUESTION_S * talk.clock.rate * NS)
        while talk.clock.mono_ns() < until_ns:
            talk.pump(0.1)
        return True

    told: list[Progress] = []
    plan = ProbePlan(tuple(standard_peers()) + PEERS[-1:], identifiers=((0x7001, 0x7040),))
    probe(talk, tmp_path / "log", plan=plan, known=None, confirm=slowly, tell=told.append)
    finding = [one for one in told if one.finding]
    reading = [one for one in told if not one.finding]
    assert [one.doing for one in finding] == [*(f"7E{n}" for n in range(8)), "6B3"]
    assert finding[0].left_s is None and reading[0].left_s is None
    known = [one.left_s / (one.total - one.done) for one in told if one.left_s]
    assert known and max(known) < QUESTION_S / 8, "what the question took is in no estimate, as a share of 8 requests"


@pytest.mark.parametrize(
    ("text", "first", "count"),
    [("6B3:6BB", (0x6B3, 0x6BB, False), 1), ("600-60F", (0x600, 0x608, False), 16),
     ("18DA28F1", (0x18DA28F1, 0x18DAF128, True), 1), ("700-703:780-783", (0x700, 0x780, False), 4),
     ("10-1F", (0x10, 0x10, False), 16)],
)  # fmt: skip
def test_addresses_are_read_as_they_are_written(text: str, first: tuple[int, int, bool], count: int) -> None:
    peers = parse_peers(text)
    assert (peers[0].target, peers[0].source, peers[0].extended) == first and len(peers) == count


@pytest.mark.parametrize(
    "text",
    [
        "",
        "xyz",
        "800",
        "6B3:",
        "6B3:6B3",
        "6B3:6BB:6BC",
        "6B3-6B0",
        "700-703:780",
        "1ABCDEF0",
        "18DB33F1",
        "10:18",
        "1F-10",
    ],
)
def test_addresses_that_cannot_be_are_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse_peers(text)


@pytest.mark.parametrize(
    ("text", "kline", "says"),
    [
        ("10-1F", False, "10 is a node of a K-line, and this link is CAN"),
        ("6B3:6BB", True, "6B3 is an identifier of CAN, and this link is a K-line"),
        ("18DA28F1", True, "18DA28F1 is an identifier of CAN"),
    ],
)
def test_addresses_of_the_other_kind_of_link_are_refused_with_the_form_to_use(
    text: str, kline: bool, says: str
) -> None:
    fit(parse_peers(text), kline=not kline)
    with pytest.raises(InputError, match=says) as refused:
        fit(parse_peers(text), kline=kline)
    assert ("--address 10-1F" if kline else "6B3:6BB") in refused.value.hint


def test_the_standard_addresses_are_those_of_iso_15765_4() -> None:
    """ISO 15765-4: 7E0-7E7 answer on +8; 18DAxxF1 answers 18DAF1xx."""
    assert [(one.target, one.source) for one in standard_peers()] == [(0x7E0 + n, 0x7E8 + n) for n in range(8)]
    wide = standard_peers(extended=True)
    assert len(wide) == 256 and (wide[0x28].target, wide[0x28].source) == (0x18DA28F1, 0x18DAF128)

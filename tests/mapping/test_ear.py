"""Another tester's wire commands, recognised frame by frame."""

from __future__ import annotations

import msgspec
import pytest

from witnessmark.clock import Stamp
from witnessmark.link.frame import Frame
from witnessmark.mapping.ear import Ear, Heard
from witnessmark.mapping.model import AddressPair, Identification, ProtocolMap, WireCommand

MS = 1_000_000
PUMP = WireCommand(
    id="pump", words="runs the pump", start="31010301{seconds}", stop="31020301", longest_s=20, cool_down_s=5
)
LONG = WireCommand(
    id="long", words="runs long", start="310103020102030405060708", stop="31020302", longest_s=20, cool_down_s=5
)


def unit(**address: object) -> ProtocolMap:
    given = {"request": "7A0", "answer": "7A8", "functional": "7DF", **address}
    return ProtocolMap(
        format="witnessmark-map/1", id="u", title="u", source="invented", identification=(),
        address=AddressPair(**given), wire_commands=(PUMP, LONG),  # type: ignore[arg-type]
    )  # fmt: skip


def frame(can_id: int, data: str, at_ms: int, *, extended: bool = False) -> Frame:
    at_ns = at_ms * MS
    return Frame(can_id, bytes.fromhex(data), Stamp(at_ns, at_ns), extended=extended)


def hear(ear: Ear, *frames: Frame) -> list[Heard]:
    return [one for each in frames for one in ear.feed(each)]


def test_a_start_is_told_when_it_is_answered_with_the_seconds_in_its_hole() -> None:
    ear = Ear(unit())
    assert hear(ear, frame(0x7A0, "053101030108", 0), frame(0x7A8, "037F3178", 20)) == []
    (one,) = hear(ear, frame(0x7A8, "0471010301", 700))
    assert (one.command, one.act, one.result, one.seconds, one.at_ns) == (PUMP, "start", "positive", 8, 700 * MS)
    assert [answer.payload.hex() for answer in one.answers] == ["7f3178", "71010301"]


def test_a_refusal_has_its_code() -> None:
    (one,) = hear(Ear(unit()), frame(0x7A0, "053101030108", 0), frame(0x7A8, "037F3122", 20))
    assert (one.result, one.code) == ("negative", 0x22)


def test_a_request_of_several_frames_is_put_together_and_a_lost_frame_loses_it() -> None:
    whole = (
        frame(0x7A0, "100C310103020102", 0), frame(0x7A8, "300000", 1), frame(0x7A0, "21030405060708", 2),
        frame(0x7A8, "0471010302", 20),
    )  # fmt: skip
    (one,) = hear(Ear(unit()), *whole)
    assert (one.command, one.result, one.seconds) == (LONG, "positive", None)
    ear = Ear(unit())
    assert hear(ear, whole[0], whole[1], frame(0x7A0, "22030405060708", 2), whole[3]) == [] and ear.lost == 1


def test_an_answer_that_never_comes_is_silence_after_p2_star() -> None:
    ear = Ear(unit())
    hear(ear, frame(0x7A0, "053101030108", 0))
    deadline_ns = ear.deadline_ns()
    assert deadline_ns is not None and ear.tick(deadline_ns - 1) == []
    (one,) = ear.tick(deadline_ns)
    assert one.result == "silence" and deadline_ns == 6000 * MS and ear.deadline_ns() is None


def test_the_same_request_again_ends_the_first_as_silence() -> None:
    ear = Ear(unit())
    hear(ear, frame(0x7A0, "053101030108", 0))
    (one,) = hear(ear, frame(0x7A0, "053101030109", 100))
    assert (one.result, one.seconds) == ("silence", 8)


@pytest.mark.parametrize(
    "asked",
    [
        frame(0x7A1, "053101030108", 0),  # another control unit's
        frame(0x7A0, "053101030108", 0, extended=True),
        frame(0x7A0, "063101030108FF", 0),  # longer than the map's
        frame(0x7A0, "0431030301", 0),  # results
        frame(0x7A0, "0322F189", 0),
    ],
)
def test_other_requests_are_not_told(asked: Frame) -> None:
    ear = Ear(unit())
    assert hear(ear, asked, frame(0x7A8, "0471010301", 20)) == [] and ear.deadline_ns() is None


def test_an_answer_to_another_routine_or_act_ends_nothing() -> None:
    ear = Ear(unit())
    answers = (frame(0x7A8, "0471010302", 10), frame(0x7A8, "0471020301", 20), frame(0x7A8, "037F2231", 30))
    assert hear(ear, frame(0x7A0, "053101030108", 0), *answers) == [] and ear.deadline_ns() is not None


def test_29_bit_identifiers_and_functional_requests_are_heard() -> None:
    ear = Ear(unit(request="18DA10F1", answer="18DAF110", bits=29, functional="18DB33F1"))
    asked = frame(0x18DB33F1, "053101030108", 0, extended=True)
    (one,) = hear(ear, asked, frame(0x18DAF110, "0471010301", 20, extended=True))
    assert one.result == "positive"


def test_the_address_byte_of_mixed_addressing_tells_control_units_apart() -> None:
    ear = Ear(unit(extension="A5"))
    assert hear(ear, frame(0x7A0, "A6053101030108", 0)) == [] and ear.deadline_ns() is None
    (one,) = hear(ear, frame(0x7A0, "A5053101030108", 0), frame(0x7A8, "A50471010301", 20))
    assert one.result == "positive"


def test_with_extended_addressing_requests_carry_one_address_byte_and_answers_another() -> None:
    ear = Ear(unit(request="6F1", answer="612", functional="", extension="F1", request_extension="12"))
    foreign = (frame(0x6F1, "40053101030108", 0), frame(0x612, "400471010301", 20))
    assert hear(ear, *foreign) == []
    (one,) = hear(ear, frame(0x6F1, "12053101030108", 100), frame(0x612, "F10471010301", 120))
    assert (one.command, one.result, one.seconds) == (PUMP, "positive", 8)


@pytest.mark.parametrize(
    ("request_", "answer", "result"),
    [
        ("0414FFFFFF", "0154", "positive"),  # ISO 14229-1, 11.2: a group of three bytes, answered without any
        ("0314FF00", "0354FF00", "positive"),  # ISO 14230-3: a group of two bytes, repeated
        ("0104", "0144", "positive"),  # ISO 15031-5, mode 04
        ("0414FFFFFF", "037F1422", "negative"),
    ],
)
def test_another_tester_that_clears_trouble_codes_is_heard(request_: str, answer: str, result: str) -> None:
    """The frames are from memory of these standards."""
    (one,) = hear(Ear(unit()), frame(0x7A0, request_, 0), frame(0x7A8, answer, 20))
    assert (one.act, one.result) == ("clear", result)


def test_a_request_that_only_begins_like_a_clearing_is_none() -> None:
    assert not hear(Ear(unit()), frame(0x7A0, "0214FF", 0), frame(0x7A8, "0154", 20))


def test_what_the_unit_is_known_by_is_heard_in_frames_and_other_readings_are_not() -> None:
    ear = Ear(unit())
    number = b"1M8GDM9AXKP042788"  # 49 CFR 565: an example with a right check digit
    long = bytes((0x10, 20, 0x62, 0xF1, 0x90)) + number[:3], b"\x21" + number[3:10], b"\x22" + number[10:]
    asked = (frame(0x7A0, "0322F190", 0), frame(0x7A8, long[0].hex(), 10), frame(0x7A0, "300000", 11))
    rest = [frame(0x7A8, one.hex(), 20 + at) for at, one in enumerate(long[1:])]
    (one,) = hear(ear, *asked, *rest)
    assert (one.act, one.result, one.answers[-1].payload[3:]) == ("identification", "positive", number)
    assert hear(ear, frame(0x7A0, "0322700A", 100), frame(0x7A8, "0462700A05", 110)) == []


def test_an_identifier_that_only_the_map_knows_is_heard_and_the_answer_to_another_is_not_its() -> None:
    known = msgspec.structs.replace(unit(), identification=(Identification("F1A0", "01"),))
    ear = Ear(known)
    assert hear(ear, frame(0x7A0, "0322F1A0", 0), frame(0x7A8, "0462F19001", 10)) == []
    (one,) = hear(ear, frame(0x7A8, "0462F1A002", 20))
    assert (one.act, one.result) == ("identification", "positive")


def test_codes_that_are_read_by_a_mask_are_heard_also_when_everybody_is_asked() -> None:
    (one,) = hear(Ear(unit()), frame(0x7DF, "03190209", 0), frame(0x7A8, "0759020940350009", 10))
    assert (one.act, one.answers[-1].payload.hex()) == ("scan", "59020940350009")


def test_a_reading_that_is_asked_again_before_it_was_answered_is_told_once() -> None:
    ear = Ear(unit())
    asked = [frame(0x7A0, "0322F190", at) for at in range(0, 300, 100)]
    found = hear(ear, *asked, frame(0x7A8, "0462F19041", 400))
    assert len(found) == 1 and ear.deadline_ns() is None

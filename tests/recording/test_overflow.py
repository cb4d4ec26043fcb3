"""Flow control with the status overflow, and the message that it refuses (ISO 15765-2:2016, 9.6.5.2)."""

import pytest
from tests.recording.traffic import Bus

from witnessmark.recording.reading import read_frames

LONG = bytes.fromhex("62f190") + bytes(20)
OVERFLOW, CONTINUE = bytes.fromhex("320000"), bytes.fromhex("300000")


def reasons(bus: Bus) -> list[str]:
    return [lost.reason for one in read_frames(bus.frames).conversations for lost in one.lost]


@pytest.mark.parametrize(
    ("receiver", "flow_control", "after_ms", "reason"),
    [
        (0x7E0, OVERFLOW, 0, "overflow"),
        (0x7E0, OVERFLOW, 999, "overflow"),
        (0x7E0, OVERFLOW, 1000, "gap"),
        (0x7E0, CONTINUE, 0, "gap"),
        (0x7E1, OVERFLOW, 0, "gap"),
    ],
)
def test_an_answer_is_refused_by_overflow_on_the_line_that_asked(receiver, flow_control, after_ms, reason):
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, LONG, lose=(1, 2, 3))
    bus.wait(after_ms)
    bus.put(receiver, flow_control)
    bus.wait(2000)
    bus.say(0x7E0, "3e00")
    assert reasons(bus) == [reason]


def test_a_request_is_refused_by_overflow_on_the_line_that_answers():
    bus = Bus()
    bus.say(0x7E0, b"\x2e\xf1\x90" + bytes(20), lose=(1, 2, 3))
    bus.put(0x7E8, OVERFLOW)
    bus.say(0x7E0, "3e00")
    assert reasons(bus) == ["overflow"]


def test_behind_an_address_byte_overflow_is_that_of_the_addressed():
    bus = Bus()
    for _ in range(3):
        bus.put(0x6F1, bytes.fromhex("120322f190"))
        bus.put(0x612, bytes.fromhex("f10462f19031"))
    bus.put(0x6F1, bytes.fromhex("120322f190"))
    bus.put(0x612, bytes.fromhex("f1101462f1900102"))
    bus.put(0x6F1, bytes.fromhex("12320000"))
    assert reasons(bus) == ["overflow"]


def test_a_message_that_went_on_was_not_refused():
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, LONG, lose=(2,))
    bus.put(0x7E0, OVERFLOW)
    assert reasons(bus) == ["wrong_sn"]

"""Finding the lines that carry diagnostics: no false ones, whatever ordinary traffic looks like."""

import random

import pytest
from tests.recording.traffic import Bus

from witnessmark.recording.line import Line
from witnessmark.recording.reading import read_frames

FIRST_BYTES = (0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x10, 0x20, 0x21, 0x30)
SERVICES = (0x10, 0x22, 0x62, 0x50, 0x3E, 0x7E, 0x41, 0x7F, 0x01)


def ordinary(chance: random.Random, style: int, base: bytes, turn: int) -> bytes:
    """A frame that begins as a diagnostic one does and is none: constant, counting, mixed."""
    data = bytearray(base)
    match style:
        case 1:
            data[7] = turn & 0xFF
        case 2:
            data[1] = turn & 15
        case 3:
            data[0] = base[0] & 0xF0 | turn & 15
        case 4:
            data[2:6] = chance.randbytes(4)
        case 5:
            data[1] = chance.choice(SERVICES)
    return bytes(data)


@pytest.mark.parametrize("trial", range(12))
def test_traffic_that_mimics_frames_of_messages_is_not_taken_for_them(trial):
    chance = random.Random(trial)
    bus = Bus()
    numbers = chance.sample(range(0x001, 0x7D0), 80)
    bases = {number: bytes([chance.choice(FIRST_BYTES)]) + chance.randbytes(7) for number in numbers}
    for turn in range(60):
        for place, number in enumerate(numbers):
            if turn % (1 + place % 3) == 0:
                bus.put(number, ordinary(chance, place % 6, bases[number], turn))
        if turn % 4 == 0:
            bus.say(0x7DF, chance.choice(("3e00", "0100", "22f190", "1003", "190208")))
        if turn % 7 == 0:
            bus.say(0x7E0, "22f190")
            bus.say(0x7E8, "62f19031")
    found = read_frames(bus.frames).found
    assert {line.name for line in found.lines} == {"7DF", "7E0", "7E8"}


def test_one_exchange_on_any_identifiers_is_enough_when_the_answer_repeats_what_was_asked():
    for request, answer, enough in (
        ("22f190", "62f19031", True),
        ("3101ff00", "7f3131", True),
        ("22f190", "62f18c31", False),
        ("04", "44", False),
    ):
        bus = Bus()
        bus.say(0x640, request)
        bus.say(0x2C0, answer)
        lines = read_frames(bus.frames).found.lines
        assert lines == ((Line("can0", 0x640), Line("can0", 0x2C0)) if enough else ())


def test_the_same_identifiers_on_another_channel_are_other_lines():
    bus = Bus()
    bus.put(0x640, bytes.fromhex("0322f190"), channel="can0")
    bus.put(0x2C0, bytes.fromhex("0462f19031"), channel="can1")
    assert read_frames(bus.frames).found.lines == ()


def test_a_line_whose_frames_are_mostly_refused_is_left_alone_unless_a_standard_keeps_it_for_diagnostics():
    bus = Bus()
    for _ in range(10):
        for number in (0x7E0, 0x640):
            bus.say(number, "22f190")
            bus.put(number, b"\xff" * 8)
    assert [line.name for line in read_frames(bus.frames).found.lines] == ["7E0"]

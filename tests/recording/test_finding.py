"""Finding the lines that carry diagnostics: no false ones, whatever ordinary traffic looks like."""

import random

import pytest
from tests.recording.traffic import Bus, candump

from witnessmark.recording.bulk.reading import read_text
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


def read_both(bus, named=frozenset()):
    """The reading of the state machine, after the bulk reading came to the same."""
    plain = read_frames(bus.frames, named)
    found = read_text(candump(bus.frames), "x", pytest.fail, named=named)
    assert found is not None
    assert found[0].found == plain.found and list(found[0].conversations) == list(plain.conversations)
    return plain


@pytest.mark.parametrize(("request_id", "answer_id"), [(0x7E0, 0x7E8), (0x714, 0x77E), (0x18DA10F1, 0x18DAF110)])
def test_a_scan_of_every_service_number_is_read_whole(request_id, answer_id):
    bus = Bus()
    for service in range(0x100):
        bus.say(request_id, bytes([service]))
        bus.say(answer_id, bytes([0x7F, service, 0x11]))
        bus.wait(200)
    conversations = read_both(bus).conversations
    assert [one.request.payload[0] for one in conversations] == list(range(0x100))
    assert all([answer.payload[1] for answer in one.answers] == [at] for at, one in enumerate(conversations))


@pytest.mark.parametrize(("request_id", "answer_id"), [(0x7E0, 0x7E8), (0x640, 0x2C0)])
@pytest.mark.parametrize("service", [0x00, 0x0B, 0x0F, 0xFE])
def test_one_refused_number_among_few_good_exchanges_hides_nothing(request_id, answer_id, service):
    bus = Bus()
    for _ in range(8):
        bus.say(request_id, "22f190")
        bus.say(answer_id, "62f19031")
        bus.wait(100)
    bus.say(request_id, bytes([service]))
    bus.say(answer_id, bytes([0x7F, service, 0x11]))
    conversations = read_both(bus).conversations
    assert len(conversations) == 9 and all(len(one.answers) == 1 for one in conversations)


def test_numbers_that_nobody_knows_and_nobody_refuses_are_ordinary_traffic():
    bus = Bus()
    for turn in range(30):
        bus.put(0x640, bytes([1, turn * 7 & 0xFF, 0, 0, 0, 0, 0, 0]))
        bus.put(0x2C0, bytes([3, 0x7F, 0x22, 0x31, 0, 0, 0, 0]))
    assert read_both(bus).found.lines == ()


def test_what_is_set_aside_is_told_with_its_reason_and_read_when_it_is_named():
    bus = Bus()
    for turn in range(12):
        bus.put(0x7E3, bytes([1, 0xF0 + turn, 0, 0, 0, 0, 0, 0]))
        bus.say(0x640, "3e80")
        bus.put(0x100, bytes([8, turn, 1, 2, 3, 4, 5, 6]))
    found = read_both(bus).found
    assert found.lines == ()
    assert [(line.name, why) for line, why in found.aside] == [
        ("7E3", "10 of 12 messages begin with no known service"),
        ("640", "nobody answers it"),
    ]
    named = read_both(bus, frozenset({(0x640, None), (0x7E3, None)}))
    assert {line.name for line in named.found.lines} == {"640", "7E3"} and named.found.aside == ()
    assert len(named.conversations) == 24


def test_random_frames_on_the_identifiers_of_a_standard_are_no_diagnostics():
    chance = random.Random(5)
    bus = Bus()
    for _ in range(4000):
        bus.put(chance.randrange(0x7DF, 0x7F0), chance.randbytes(8))
    assert read_both(bus).found.lines == ()

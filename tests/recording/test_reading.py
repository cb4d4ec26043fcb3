"""The plain reading, from frames to conversations: rules one by one, then the recordings of others."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from tests.recording.test_bulk import assert_alike
from tests.recording.traffic import MS, Bus, candump, segments

from witnessmark.recording.file import open_recording
from witnessmark.recording.line import Line
from witnessmark.recording.reading import read_frames, read_recording
from witnessmark.recording.remarks import mismatch

CAPTURES = Path(__file__).parents[1] / "captures"
MANIFEST = {entry["file"]: entry["expected"] for entry in json.loads((CAPTURES / "manifest.json").read_text())["files"]}


def heard(bus):
    """(request, answers, lost) as text."""
    found = []
    for one in read_frames(bus.frames).conversations:
        request = "" if one.request is None else f"{one.request.key.name} {one.request.payload.hex()}"
        answers = [f"{answer.key.name} {answer.payload.hex()}" for answer in one.answers]
        found.append((request, answers, [f"{lost.key.name} {lost.reason}" for lost in one.lost]))
    return found


def test_a_request_and_its_answer_make_a_conversation():
    bus = Bus()
    bus.say(0x7E0, "1003")
    bus.say(0x7E8, "5003003201f4")
    reading = read_frames(bus.frames)
    (one,) = reading.conversations
    assert one.request is not None and one.request.key == Line("can0", 0x7E0)
    assert [answer.payload.hex() for answer in one.answers] == ["5003003201f4"]
    assert (one.last_ns - one.first_ns, one.pending, one.functional, one.suppressed) == (MS, 0, False, False)


def test_many_answer_one_functional_request():
    bus = Bus()
    bus.say(0x7DF, "190208")
    for number in (0x7E8, 0x72D, 0x7BB):
        bus.say(number, "590209")
    assert heard(bus) == [("7DF 190208", ["7E8 590209", "72D 590209", "7BB 590209"], [])]
    assert read_frames(bus.frames).conversations[0].functional


def test_every_pending_answer_is_kept_and_extends_the_window():
    bus = Bus()
    bus.say(0x7E4, "3101ff00")
    for _ in range(3):
        bus.wait(5000)
        bus.say(0x7EC, "7f3178")
    bus.wait(5900)
    bus.say(0x7EC, "7101ff0000")
    assert heard(bus) == [("7E4 3101ff00", ["7EC 7f3178"] * 3 + ["7EC 7101ff0000"], [])]
    assert read_frames(bus.frames).conversations[0].pending == 3


def test_an_answer_after_the_window_stands_alone():
    bus = Bus()
    bus.say(0x7E4, "3101ff00")
    bus.wait(6001)
    bus.say(0x7EC, "7101ff0000")
    assert heard(bus) == [("7E4 3101ff00", [], []), ("", ["7EC 7101ff0000"], [])]


@pytest.mark.parametrize(("p2_star", "paired"), [("07d0", True), ("01f4", False)])
def test_after_a_pending_answer_the_window_is_as_long_as_the_unit_itself_states(p2_star, paired):
    bus = Bus()
    bus.say(0x7E4, "1003")
    bus.say(0x7EC, f"50030032{p2_star}")
    bus.say(0x7E4, "3101ff00")
    bus.say(0x7EC, "7f3178")
    bus.wait(15_000)
    bus.say(0x7EC, "7101ff0000")
    assert heard(bus)[1] == ("7E4 3101ff00", ["7EC 7f3178", *(["7EC 7101ff0000"] if paired else [])], [])
    assert_alike(candump(bus.frames))


def test_an_answer_goes_to_the_open_request_whose_identifier_it_repeats():
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E0, "22f187")
    bus.say(0x7E8, "62f19031")
    bus.say(0x7E8, "62f18732")
    bus.say(0x7E0, "22f1910203")
    bus.say(0x7E8, "62020333")
    bus.say(0x7E0, "22f18c")
    bus.say(0x7E8, "62f18b34")
    assert heard(bus) == [
        ("7E0 22f190", ["7E8 62f19031"], []),
        ("7E0 22f187", ["7E8 62f18732"], []),
        ("7E0 22f1910203", ["7E8 62020333"], []),
        ("7E0 22f18c", ["7E8 62f18b34"], []),
    ]
    last = read_frames(bus.frames).conversations[-1]
    assert mismatch(last.answers[0], last.request.payload) == "answers another identifier"
    assert_alike(candump(bus.frames))


def test_a_suppressed_positive_answer_is_no_gap():
    bus = Bus()
    bus.say(0x7E0, "3e80")
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, "62f190313233")
    assert heard(bus) == [("7E0 3e80", [], []), ("7E0 22f190", ["7E8 62f190313233"], [])]
    assert read_frames(bus.frames).conversations[0].suppressed


def test_a_lost_frame_loses_its_message_and_splices_nothing():
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, b"\x62\xf1\x90" + bytes(range(40)), lose=(3,))
    bus.say(0x7E0, "22f18c")
    bus.say(0x7E8, b"\x62\xf1\x8c" + bytes(range(20)))
    found = heard(bus)
    assert found[0] == ("7E0 22f190", [], ["7E8 wrong_sn"])
    assert found[1][1] == ["7E8 62f18c" + bytes(range(20)).hex()]
    assert read_frames(bus.frames).conversations[0].frames_lost == 1


def test_a_message_without_its_first_frame_is_told_and_belongs_to_nobody():
    bus = Bus()
    bus.say(0x7E0, "22f190")
    bus.say(0x7E8, b"\x62\xf1\x90" + bytes(20), lose=(0,))
    assert heard(bus) == [("7E0 22f190", [], []), ("", [], ["7E8 no_first_frame"])]


def test_interleaved_units_are_kept_apart_in_11_and_29_bits():
    bus = Bus()
    answers = {0x7E8: b"\x62\xf1\x90" + bytes(30), 0x18DAF110: b"\x62\xf1\x90" + bytes(range(30))}
    bus.say(0x7E0, "22f190")
    bus.say(0x18DA10F1, "22f190")
    for pair in zip(*(segments(payload) for payload in answers.values()), strict=True):
        for can_id, data in zip(answers, pair, strict=True):
            bus.put(can_id, data)
    found = heard(bus)
    assert [(request, len(said)) for request, said, _ in found] == [("7E0 22f190", 1), ("18DA10F1 22f190", 1)]
    assert found[1][1] == ["18DAF110 " + answers[0x18DAF110].hex()]


def test_an_identifier_of_the_same_number_in_29_bits_is_another_line():
    bus = Bus()
    bus.say(0x7E0, "1003")
    bus.say(0x7E8, "5003003201f4")
    bus.frames[1] = replace(bus.frames[1], extended=True)
    assert heard(bus) == [("7E0 1003", [], [])]


def test_pairs_that_no_standard_names_are_learned_among_ordinary_traffic():
    bus = Bus()
    for turn in range(50):
        bus.put(0x130, bytes([turn * 5 & 0xFF, 0x80, 0, 0x80, 0x22, 2, 0, turn & 15]))
        bus.put(0x008, b"\x01\x00")
        bus.put(0x005, bytes.fromhex("110E19E10CE9BFCD"))
        if turn % 5 == 0:
            bus.say(0x79B, bytes([0x21, turn]))
            bus.say(0x7BB, bytes([0x61, turn]) + bytes(20))
            bus.say(0x6F1, bytes([0x22, 0xF1, turn]))
            bus.say(0x612, bytes([0x62, 0xF1, turn, 7]))
    reading = read_frames(bus.frames)
    assert {line.name for line in reading.found.lines} == {"79B", "7BB", "6F1", "612"}
    assert [len(one.answers) for one in reading.conversations] == [1] * 20
    assert reading.found.functional == frozenset()


def test_units_interleaved_on_identifiers_of_the_makers_own_are_given_one_requester_each():
    bus = Bus()
    for turn in range(20):
        for unit in range(4):
            bus.say(0x600 + unit, bytes([0x22, 0xF1, turn]))
        for unit in range(4):
            bus.say(0x680 + unit, bytes([0x62, 0xF1, turn, unit]))
    reading = read_frames(bus.frames)
    assert len(reading.conversations) == 80
    for one in reading.conversations:
        assert one.request is not None
        assert [answer.key.number - one.request.key.number for answer in one.answers] == [0x80]


def test_a_functional_line_of_the_makers_own_is_known_by_its_many_answers():
    bus = Bus()
    for turn in range(5):
        bus.say(0x700, bytes([0x22, 0xF1, turn]))
        for unit in range(3):
            bus.say(0x780 + unit, bytes([0x62, 0xF1, turn, unit]))
    reading = read_frames(bus.frames)
    assert [line.name for line in reading.found.functional] == ["700"]
    assert [len(one.answers) for one in reading.conversations] == [3] * 5
    assert all(one.functional for one in reading.conversations)


def test_mixed_addressing_reads_past_the_address_byte():
    bus = Bus()
    bus.put(0x18CE10F1, bytes.fromhex("420322f190aaaaaa"))
    bus.put(0x18CEF110, bytes.fromhex("420462f19031aaaa"))
    assert heard(bus) == [("18CE10F1/42 22f190", ["18CEF110/42 62f19031"], [])]


def test_frames_of_can_fd_carry_messages_of_any_length():
    bus = Bus()
    bus.say(0x7E0, "22f190")
    answer = b"\x62\xf1\x90" + bytes(range(100))
    for data in (
        b"\x10" + bytes([len(answer)]) + answer[:62],
        b"\x21" + answer[62:] + bytes(6),  # 41 bytes left, in a frame of 48 with padding
        b"\x00\x0a\x62\xf1\x8c" + bytes(7),
    ):
        bus.put(0x7E8, data)
        bus.frames[-1] = replace(bus.frames[-1], fd=True)
    assert [len(frame.data) for frame in bus.frames] == [8, 64, 48, 12]
    assert heard(bus) == [("7E0 22f190", ["7E8 " + answer.hex(), "7E8 62f18c" + bytes(7).hex()], [])]


def test_extended_addressing_is_found_by_its_pairs():
    bus = Bus()
    for turn in range(3):
        for unit in (0x12, 0x18):
            bus.put(0x6F1, bytes([unit, 3, 0x22, 0xF1, turn]))
            bus.put(0x600 + unit, bytes([0xF1, 0x10, 9, 0x62, 0xF1, turn, 1, 2]))
            bus.put(0x6F1, bytes([unit, 0x30, 0, 0]))
            bus.put(0x600 + unit, bytes([0xF1, 0x21, 3, 4, 5, 6]))
        bus.put(0x6A0, bytes([turn, 0x02, 0x3E, turn, 0, 0, 0, 0]))
    found = heard(bus)
    assert [request for request, _, _ in found] == [f"6F1/{unit} 22f10{turn}" for turn in range(3) for unit in (12, 18)]
    assert [said for _, said, _ in found[:2]] == [["612/F1 62f100010203040506"], ["618/F1 62f100010203040506"]]


def test_ordinary_traffic_that_looks_like_single_frames_is_not_diagnostics():
    bus = Bus()
    for turn in range(100):
        bus.put(0x321, bytes([2, 0x3E, 0, turn, 0, 0, 0, 0]))
        bus.put(0x456, bytes([0x21, turn, 0, 0, 0, 0, 0, 0]))
        bus.put(0x457, bytes([0x20 | turn & 15, turn, 0, 0, 0, 0, 0, 0]))
        bus.put(0x123, bytes([0x10 | turn & 15, turn, 0x62, 0, 0, 0, 0, 0]))
        bus.put(0x7DE, bytes([4, 0x62, turn, turn, 0, 0, 0, 0]))
    bus.say(0x7DF, "22f190")
    assert heard(bus) == [("7DF 22f190", [], [])]


@pytest.mark.parametrize("name", [name for name in MANIFEST if name.endswith(".log")])
def test_each_recording_gives_the_messages_that_three_readers_agree_on(name):
    expected = MANIFEST[name]
    reading = read_frames(open_recording(CAPTURES / name).frames())
    by_line: dict[str, int] = {}
    for one in reading.conversations:
        for part in one.parts():
            if part not in one.lost:
                by_line[part.key.name] = by_line.get(part.key.name, 0) + 1
    wanted = expected.get("isotp_messages_by_id", {}).get("own", {})
    assert by_line == {number[2:].upper(): count for number, count in wanted.items()}
    answers = [one for one in reading.conversations for _ in one.answers]
    assert sum(one.request is None for one in answers) == expected.get("n_responses_unpaired", 0)
    assert sum(one.pending for one in reading.conversations) == expected.get("pending_0x78", 0)


@pytest.mark.parametrize("name", ["fault-scan", "battery-polling", "answers-only"])
def test_each_recording_gives_the_pairs_expected(name):
    listed = json.loads((CAPTURES / "expected" / f"{name}.json").read_text())["pairs"]
    recording = open_recording(CAPTURES / f"{name}.log")
    asked = [one for one in read_frames(recording.frames()).conversations if one.request is not None]
    assert len(asked) == len(listed)
    for one, wanted in zip(asked, listed, strict=True):
        assert one.request is not None
        assert (f"0x{one.request.key.number:x}", one.request.payload.hex()) == (wanted["req_id"], wanted["req"])
        key = lambda answer: (answer[0], answer[2])  # noqa: E731
        found = [
            (f"0x{a.key.number:x}", a.payload.hex(), (a.last_ns - one.request.last_ns) / MS, len(a.frames))
            for a in one.answers
        ]
        answers = [(a["id"], a["data"], a["dt_ms"], a["frames"]) for a in wanted["rsp"]]
        assert [(a[0], a[1], a[3]) for a in sorted(found, key=key)] == [
            (a[0], a[1], a[3]) for a in sorted(answers, key=key)
        ]
        assert sorted(a[2] for a in found) == pytest.approx(sorted(a[2] for a in answers), abs=0.1)


def test_answers_alone_are_read_and_the_ones_with_frames_missing_are_told():
    reading = read_frames(open_recording(CAPTURES / "answers-only.log").frames())
    lost = [lost for one in reading.conversations for lost in one.lost]
    assert {lost.key.name for lost in lost} == {"7EC"}
    assert [lost.reason for lost in lost].count("interrupted_by_ff") == 29
    assert [lost.reason for lost in lost].count("incomplete") == 1
    assert all(one.request is None for one in reading.conversations)


def test_the_first_frames_that_nobody_let_go_on_are_told_as_lost():
    reading = read_frames(open_recording(CAPTURES / "fault-scan.log").frames())
    lost = [
        (one.request.payload.hex(), lost.key.name) for one in reading.conversations for lost in one.lost if one.request
    ]
    assert sorted(lost) == [("190208", "778"), ("190208", "7CC")]


def test_diagnostic_messages_of_doip_are_paired():
    recording = open_recording(CAPTURES / "doip-types.pcapng")
    reading = read_recording(recording)
    assert len(reading.doip) == 21
    (one,) = reading.conversations
    assert one.request is not None and one.request.payload == b"\x10\x03"
    assert one.request.key.name == "0E80>4010"

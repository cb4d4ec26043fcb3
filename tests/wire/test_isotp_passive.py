"""Reassembly by listening alone."""

from __future__ import annotations

import json
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.wire.candump_text import CAPTURES, expected, frames
from tests.wire.isotp_pair import ADDRESSES, pair

from witnessmark.wire.isotp import Lost, Message, PassiveReassembler, Settings
from witnessmark.wire.isotp.passive import GAP_NS, MOST_AFTER

FIRST = bytes.fromhex("1014 010203040506")  # 20 bytes: 6 here, then 7 and 7
SECOND, THIRD = bytes.fromhex("21 0708090a0b0c0d"), bytes.fromhex("22 0e0f1011121314")
WHOLE = bytes(range(1, 21))
SINGLE = bytes.fromhex("023e00")


def read(*data: bytes, step_ns: int = 1000) -> list[Message | Lost]:
    """What one sender's frames come to, end of the recording included."""
    reassembler = PassiveReassembler()
    told: list[Message | Lost] = []
    for number, frame in enumerate(data):
        told += reassembler.feed("unit", frame, number * step_ns)
    return [*told, *reassembler.finish()]


def reasons(told: list[Message | Lost]) -> list[str]:
    return [one.reason if isinstance(one, Lost) else "whole" for one in told]


@pytest.mark.parametrize("name", ["fault-scan.log", "battery-polling.log", "answers-only.log"])
def test_a_recording_gives_the_messages_that_three_other_readers_found(name: str) -> None:
    want = expected(name)
    diagnostic = {can_id[2:].upper() for can_id in want["isotp_messages_by_id"]["own"]}
    reassembler = PassiveReassembler()
    told: list[Message | Lost] = []
    for can_id, data, stamp_ns in frames(name):
        if can_id in diagnostic:
            told += reassembler.feed(can_id, data, stamp_ns)
    told += reassembler.finish()
    messages = Counter(f"0x{one.key.lower()}" for one in told if isinstance(one, Message))
    losses = Counter(f"0x{one.key.lower()}:{one.reason}" for one in told if isinstance(one, Lost))
    assert messages == want["isotp_messages_by_id"]["own"]
    assert losses == want["anomalies"]
    flow_control = {can_id: reassembler.ignored(can_id)["flow_control"] for can_id in diagnostic}
    assert sum(flow_control.values()) == sum(want["flow_control_frames"].values())


def test_the_bytes_of_the_polled_answers_are_those_expected() -> None:
    listed = json.loads((CAPTURES / "expected" / "battery-polling.json").read_text(encoding="ascii"))["pairs"]
    reassembler = PassiveReassembler()
    told = [one for frame in frames("battery-polling.log") for one in reassembler.feed(*frame)]
    answers = [one.payload.hex() for one in told if isinstance(one, Message) and one.key == "7BB"]
    assert answers == [answer["data"] for pair in listed for answer in pair["rsp"]]


def test_ordinary_traffic_read_as_if_it_were_diagnostic_gives_what_the_manifest_says() -> None:
    reassembler = PassiveReassembler()
    told = [one for frame in frames("no-diagnostics.log") for one in reassembler.feed(*frame)]
    assert sum(isinstance(one, Message) for one in told) == expected("no-diagnostics.log")["naive_all_ids"]["own"]


@given(
    data=st.data(),
    payloads=st.lists(st.binary(min_size=1, max_size=200), min_size=1, max_size=6),
    name=st.sampled_from(sorted(ADDRESSES)),
    tx_dl=st.sampled_from([8, 64]),
)
def test_interleaved_senders_are_told_apart(data: st.DataObject, payloads: list[bytes], name: str, tx_dl: int) -> None:
    queues = []
    for payload in payloads:
        wire = pair(ADDRESSES[name], Settings(tx_dl=tx_dl, fd=True), Settings(fd=True))
        wire.near.send(payload, 0)
        wire.run()
        queues.append([frame for _, who, frame in wire.frames if who == "near"])
    reassembler = PassiveReassembler(ext=ADDRESSES[name].has_ext)
    told: dict[object, bytes] = {}
    waiting = [key for key, queue in enumerate(queues) for _ in queue]
    for stamp_ns, key in enumerate(data.draw(st.permutations(waiting))):
        for one in reassembler.feed(key, queues[key].pop(0), stamp_ns):
            assert isinstance(one, Message)
            assert one.ext == ADDRESSES[name].tx_ext
            told[one.key] = one.payload
    assert told == dict(enumerate(payloads))
    assert reassembler.finish() == []


@given(payload=st.binary(min_size=8, max_size=300), gone=st.sets(st.integers(0, 45), min_size=1, max_size=6))
def test_a_message_with_frames_missing_is_lost_and_never_spliced(payload: bytes, gone: set[int]) -> None:
    wire = pair()
    wire.near.send(payload, 0)
    wire.run()
    data = [frame for _, who, frame in wire.frames if who == "near"]
    kept = [frame for number, frame in enumerate(data) if number not in gone]
    told = read(*kept)
    if kept == data:
        assert [one.payload for one in told if isinstance(one, Message)] == [payload]
    else:
        assert all(isinstance(one, Lost) for one in told)
        assert len(told) == (1 if kept else 0)


def test_each_loss_has_its_own_reason() -> None:
    assert reasons(read(FIRST, SECOND, THIRD)) == ["whole"]
    assert reasons(read(FIRST, SECOND)) == ["incomplete"]
    assert reasons(read(FIRST, THIRD)) == ["wrong_sn"]
    assert reasons(read(FIRST, SECOND, SECOND, THIRD)) == ["wrong_sn"]
    assert reasons(read(FIRST, SECOND, SINGLE, THIRD)) == ["interrupted_by_sf", "whole"]
    assert reasons(read(FIRST, SECOND, SINGLE, SINGLE, THIRD)) == [
        "interrupted_by_sf", "whole", "whole", "no_first_frame",
    ]  # fmt: skip
    assert reasons(read(FIRST, SECOND, FIRST, SECOND, THIRD)) == ["interrupted_by_ff", "whole"]
    assert reasons(read(SECOND, THIRD, SECOND, SINGLE, THIRD)) == ["no_first_frame", "whole", "no_first_frame"]


def test_a_consecutive_frame_after_the_gap_is_not_taken_as_part_of_the_message() -> None:
    assert reasons(read(FIRST, SECOND, THIRD, step_ns=GAP_NS)) == ["whole"]
    assert reasons(read(FIRST, SECOND, THIRD, step_ns=GAP_NS + 1)) == ["gap"]


def test_consecutive_frames_behind_a_loss_go_to_it_and_are_no_other_loss() -> None:
    (lost,) = read(FIRST, THIRD, SECOND)
    assert isinstance(lost, Lost) and (lost.reason, lost.after) == ("wrong_sn", [THIRD, SECOND])
    (lost,) = read(FIRST, SECOND, THIRD, step_ns=GAP_NS + 1)
    assert isinstance(lost, Lost) and (lost.reason, lost.after) == ("gap", [SECOND, THIRD])
    assert reasons(read(FIRST, THIRD, step_ns=GAP_NS + 1)) == ["gap", "no_first_frame"]
    lost, _ = read(FIRST, SINGLE, SECOND, THIRD)
    assert isinstance(lost, Lost) and (lost.reason, lost.after) == ("interrupted_by_sf", [SECOND, THIRD])
    lost, _ = read(SECOND, THIRD, SINGLE)
    assert isinstance(lost, Lost) and (lost.reason, lost.after) == ("no_first_frame", [THIRD])
    assert reasons(read(SECOND, SECOND, step_ns=GAP_NS + 1)) == ["no_first_frame", "no_first_frame"]


def test_no_more_frames_are_kept_behind_a_loss_than_a_message_can_have() -> None:
    reassembler = PassiveReassembler()
    (lost,) = reassembler.feed("unit", SECOND, 0)
    for _ in range(MOST_AFTER + 3):
        assert reassembler.feed("unit", SECOND, 0) == ()
    assert isinstance(lost, Lost) and len(lost.after) == MOST_AFTER
    assert reassembler.ignored("unit") == {"stray": 3}


def test_the_recording_ends_before_a_message_only_when_it_does() -> None:
    for end_ns, reason in ((None, "incomplete"), (GAP_NS, "incomplete"), (GAP_NS + 1, "gap")):
        reassembler = PassiveReassembler()
        reassembler.feed("unit", FIRST, 0)
        assert reasons(list(reassembler.finish(end_ns))) == [reason]


def test_a_loss_keeps_the_frames_that_came() -> None:
    (lost,) = read(FIRST, SECOND)
    assert lost == Lost("unit", "incomplete", 20, 0, 1000, (FIRST, SECOND))
    (stray,) = read(SECOND)
    assert stray == Lost("unit", "no_first_frame", 0, 0, 0, (SECOND,))
    (whole,) = read(FIRST, SECOND, THIRD)
    assert whole == Message("unit", WHOLE, 0, 2000, (FIRST, SECOND, THIRD))


def test_the_end_of_a_recording_forgets_every_stream() -> None:
    reassembler = PassiveReassembler()
    for _ in range(2):
        assert reasons(list(reassembler.feed("unit", SECOND, 0))) == ["no_first_frame"]
        assert reassembler.feed("unit", THIRD, 0) == ()
        assert reassembler.feed("other", FIRST, 0) == []
        assert reasons(list(reassembler.finish())) == ["incomplete"]


def test_a_consecutive_frame_longer_than_the_first_frame_is_ignored_even_as_the_last() -> None:
    assert reasons(read(FIRST, SECOND, THIRD + bytes(4), THIRD)) == ["whole"]


def test_frames_that_mean_nothing_are_counted_by_reason_and_disturb_nothing() -> None:
    reassembler = PassiveReassembler()
    told = []
    noise = [b"", b"\x40", b"\x30\x00\x00", b"\x00", b"\x21\x01\x02", bytes(9)]
    for frame in (FIRST, *noise, SECOND, THIRD):
        told += reassembler.feed("unit", frame, 0)
    assert reasons(told) == ["whole"]
    assert reassembler.ignored("unit") == {
        "empty": 1, "unknown_pci": 1, "flow_control": 1, "sf_length_zero": 1, "cf_length": 1, "can_length": 1,
    }  # fmt: skip
    assert reassembler.ignored("another") == {}


@given(st.lists(st.tuples(st.integers(0, 2), st.binary(max_size=64), st.integers(0, 2 * GAP_NS)), max_size=40))
def test_arbitrary_frames_never_raise(told: list[tuple[int, bytes, int]]) -> None:
    for ext in (False, True):
        reassembler = PassiveReassembler(ext=ext)
        for key, data, stamp_ns in told:
            for one in reassembler.feed(key, data, stamp_ns):
                assert one.key == key
        reassembler.finish()
        assert reassembler.finish() == []

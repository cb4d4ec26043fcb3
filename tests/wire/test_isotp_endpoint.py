"""The rules of ISO 15765-2:2016 for flow control, block size, separation time and unexpected frames."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.wire.isotp_pair import ADDRESSES, NORMAL, pair

from witnessmark.errors import LocalError
from witnessmark.wire.isotp import (
    Address,
    Endpoint,
    Failed,
    FirstFrameSeen,
    Ignored,
    Received,
    Sent,
    Settings,
    fixed_id,
)
from witnessmark.wire.isotp.endpoint import BURST
from witnessmark.wire.isotp.pdu import MS, US

FIRST = bytes.fromhex("1014010203040506")  # 20 bytes
SECOND, THIRD = bytes.fromhex("210708090a0b0c0d"), bytes.fromhex("220e0f1011121314")
WHOLE = bytes(range(1, 21))
SINGLE = bytes.fromhex("023e00")
GO = bytes.fromhex("300000")


def endpoint(**settings: Any) -> Endpoint:
    return Endpoint(NORMAL, Settings(**({"padding": None} | settings)))


def mid_reception(**settings: Any) -> Endpoint:
    """An endpoint whose flow control has left and that awaits the first consecutive frame."""
    peer = endpoint(**settings)
    peer.receive(FIRST, 0)
    peer.outgoing(0)
    return peer


def mid_transmission(length: int = 100, **settings: Any) -> Endpoint:
    """An endpoint whose first frame has left and that awaits flow control."""
    peer = endpoint(**settings)
    peer.send(bytes(length), 0)
    peer.outgoing(0)
    return peer


def test_the_first_frame_is_told_when_it_comes_and_the_message_when_it_is_whole() -> None:
    peer = endpoint(block_size=8, st_min=0x14)
    assert peer.receive(FIRST, 5) == [FirstFrameSeen(20, 5)]
    assert peer.outgoing(6) == [bytes.fromhex("300814")]
    assert peer.receive(SECOND, 7) == []
    assert peer.receive(THIRD, 8) == [Received(WHOLE, 5, 8, (FIRST, SECOND, THIRD))]
    assert not peer.receiving and peer.deadline_ns() is None


# Unexpected frames: 9.8.3.


def test_a_single_frame_ends_the_reception_in_progress_and_is_received() -> None:
    peer = mid_reception()
    assert peer.receive(SINGLE, 9) == [
        Failed("receive", "interrupted_by_sf", SINGLE, "awaits consecutive", 9, (FIRST,)),
        Received(b"\x3e\x00", 9, 9, (SINGLE,)),
    ]
    assert peer.receive(SECOND, 10) == [Ignored("unexpected_cf", SECOND, 10)]


def test_a_first_frame_ends_the_reception_in_progress_and_begins_another() -> None:
    peer = mid_reception()
    peer.receive(SECOND, 8)
    assert peer.receive(FIRST, 9) == [
        Failed("receive", "interrupted_by_ff", FIRST, "awaits consecutive", 9, (FIRST, SECOND)),
        FirstFrameSeen(20, 9),
    ]
    assert peer.outgoing(9) == [GO]
    assert [type(told) for frame in (SECOND, THIRD) for told in peer.receive(frame, 10)] == [Received]


def test_flow_control_for_a_message_that_was_interrupted_does_not_leave() -> None:
    peer = endpoint()
    peer.receive(FIRST, 0)
    peer.receive(SINGLE, 0)
    assert peer.outgoing(0) == []


def test_a_reception_is_judged_anew_after_the_one_before() -> None:
    peer = mid_reception(block_size=1, wft_max=1, n_br_ns=10)
    peer.receive(SECOND, 1)
    peer.hold(True, 1)
    assert peer.outgoing(11) == [bytes.fromhex("310100")]
    peer.receive(FIRST, 12)
    assert peer.outgoing(22) == [bytes.fromhex("310100")]
    assert peer.tick(32)[0].reason == "wft_overrun"


def test_a_consecutive_frame_out_of_nowhere_is_ignored() -> None:
    peer = endpoint()
    assert peer.receive(SECOND, 1) == [Ignored("unexpected_cf", SECOND, 1)]
    assert peer.outgoing(1) == []


def test_a_consecutive_frame_before_our_flow_control_has_left_is_ignored() -> None:
    peer = endpoint()
    peer.receive(FIRST, 0)
    assert peer.receive(SECOND, 1) == [Ignored("unexpected_cf", SECOND, 1)]
    assert peer.outgoing(1) == [GO]


def test_a_first_frame_whose_length_fits_a_single_frame_is_ignored() -> None:
    short = bytes.fromhex("1007010203040506")
    peer = mid_reception()
    assert peer.receive(short, 1) == [Ignored("ff_fits_single", short, 1)]
    assert peer.receiving and peer.outgoing(1) == []


def test_a_sequence_number_out_of_order_ends_the_reception() -> None:
    peer = mid_reception()
    assert peer.receive(THIRD, 4) == [Failed("receive", "wrong_sn", THIRD, "awaits consecutive", 4, (FIRST,))]
    assert peer.deadline_ns() is None


def test_a_middle_consecutive_frame_of_another_length_is_ignored() -> None:
    peer = mid_reception()
    for wrong in (SECOND[:5], SECOND + bytes(4)):
        assert peer.receive(wrong, 1)[0].raw == wrong
    assert peer.receive(SECOND, 2) == []


def test_a_consecutive_frame_longer_than_the_first_frame_is_ignored() -> None:
    peer = endpoint(fd=True)
    peer.receive(FIRST, 0)
    peer.outgoing(0)
    longer = SECOND + bytes(4)
    assert peer.receive(longer, 1) == [Ignored("cf_length", longer, 1)]
    assert peer.receive(SECOND, 2) == []
    assert peer.receive(THIRD, 3)[0].payload == WHOLE


def test_the_last_consecutive_frame_may_be_short_but_not_too_short() -> None:
    peer = endpoint()
    peer.receive(bytes.fromhex("1008010203040506"), 0)
    peer.outgoing(0)
    assert peer.receive(bytes.fromhex("2107"), 1) == [Ignored("cf_length", bytes.fromhex("2107"), 1)]
    assert peer.receive(bytes.fromhex("210708"), 2)[0].payload == bytes(range(1, 9))


def test_flow_control_that_nothing_waits_for_is_ignored() -> None:
    peer = endpoint()
    for frame in (GO, bytes.fromhex("310000"), bytes.fromhex("320000"), bytes.fromhex("3f0000")):
        assert peer.receive(frame, 1) == [Ignored("unexpected_fc", frame, 1)]


def test_frames_of_another_address_are_ignored() -> None:
    peer = Endpoint(ADDRESSES["extended 11"])
    assert peer.receive(b"\xf1" + SINGLE, 1)[0].payload == b"\x3e\x00"
    for frame in (b"\xf2" + SINGLE, b""):
        assert peer.receive(frame, 2) == [Ignored("foreign", frame, 2)]


def test_functional_frames_are_taken_as_single_frames_only_and_leave_a_reception_alone() -> None:
    peer = mid_reception()
    for frame in (FIRST, SECOND, GO):
        assert peer.receive(frame, 1, functional=True) == [Ignored("functional_segmented", frame, 1)]
    assert peer.receive(SINGLE, 2, functional=True) == [Received(b"\x3e\x00", 2, 2, (SINGLE,))]
    assert peer.receive(SECOND, 3) == []
    assert peer.receive(THIRD, 4)[0].payload == WHOLE


# Flow control of ours: 9.6.5.


def test_flow_control_is_due_after_each_block() -> None:
    peer = mid_reception(block_size=1)
    assert peer.receive(SECOND, 1) == []
    assert peer.deadline_ns() == 1
    assert peer.outgoing(2) == [bytes.fromhex("300100")]
    assert peer.receive(THIRD, 3)[0].payload == WHOLE


def test_a_first_frame_longer_than_our_room_is_answered_with_overflow() -> None:
    peer = endpoint(max_length=19)
    assert peer.receive(FIRST, 1) == [Failed("receive", "overflow", FIRST, "idle", 1, (FIRST,))]
    assert peer.outgoing(1) == [bytes.fromhex("320000")]
    assert peer.receive(SECOND, 2) == [Ignored("unexpected_cf", SECOND, 2)]


def test_a_reset_withdraws_an_overflow_that_has_not_left() -> None:
    peer = endpoint(max_length=10)
    peer.receive(FIRST, 0)
    assert peer.reset(1) == []
    assert (peer.outgoing(1), peer.deadline_ns()) == ([], None)


def test_a_first_frame_too_long_ends_the_reception_in_progress_too() -> None:
    peer = mid_reception(max_length=20)
    longer = bytes.fromhex("1015010203040506")
    assert [told.reason for told in peer.receive(longer, 1)] == ["interrupted_by_ff", "overflow"]
    assert peer.outgoing(1) == [bytes.fromhex("320000")]


def test_a_held_receiver_says_wait_until_it_is_released() -> None:
    wire = pair(far=Settings(padding=None, n_br_ns=400 * MS))
    wire.far.hold(True, 0)
    wire.near.send(WHOLE, 0)
    for now_ns in (0, 400 * MS, 800 * MS):
        assert wire.far.outgoing(now_ns) == ([] if now_ns == 0 else [bytes.fromhex("310000")])
        for frame in wire.near.outgoing(now_ns):
            wire.far.receive(frame, now_ns)
        wire.near.receive(bytes.fromhex("310000"), now_ns)
        wire.far.tick(now_ns)
    wire.far.hold(False, 900 * MS)
    wire.now_ns = 900 * MS
    wire.run()
    assert wire.far_told[-1].payload == WHOLE


def test_a_receiver_held_for_longer_than_the_permitted_waits_gives_up() -> None:
    peer = endpoint(wft_max=2, n_br_ns=10)
    peer.hold(True, 0)
    peer.receive(FIRST, 0)
    assert [peer.outgoing(now_ns) for now_ns in (0, 10, 20)] == [[], [b"\x31\0\0"], [b"\x31\0\0"]]
    assert peer.tick(30) == [Failed("receive", "wft_overrun", b"", "held", 30, (FIRST,))]
    assert peer.outgoing(30) == []


def test_a_hold_takes_back_the_flow_control_that_has_not_left() -> None:
    peer = endpoint()
    peer.receive(FIRST, 0)
    peer.hold(True, 1)
    assert peer.outgoing(1) == []
    peer.hold(False, 2)
    assert peer.outgoing(2) == [GO]


# Flow control of theirs.


def test_a_block_ends_after_as_many_frames_as_the_flow_control_says() -> None:
    peer = mid_transmission(100)
    peer.receive(bytes.fromhex("300300"), 1)
    assert [frame[0] for frame in peer.outgoing(1)] == [0x21, 0x22, 0x23]
    assert peer.outgoing(2) == []
    peer.receive(bytes.fromhex("300000"), 3)
    assert len(peer.outgoing(3)) == 11
    assert peer.tick(3) == [Sent(3)]


@pytest.mark.parametrize(("raw", "gap_ns"), [(0x05, 5 * MS), (0xF3, 300 * US), (0x80, 127 * MS), (0xFF, 127 * MS)])
def test_consecutive_frames_keep_the_separation_time(raw: int, gap_ns: int) -> None:
    peer = mid_transmission(20)
    peer.receive(bytes((0x30, 0, raw)), 1000)
    assert len(peer.outgoing(1000)) == 1
    assert peer.deadline_ns() == 1000 + gap_ns
    assert peer.outgoing(1000 + gap_ns - 1) == []
    assert len(peer.outgoing(1000 + gap_ns)) == 1


def test_flow_control_in_the_middle_of_a_block_changes_nothing() -> None:
    peer = mid_transmission(40)
    peer.receive(bytes.fromhex("30000a"), 0)
    assert len(peer.outgoing(0)) == 1
    assert [told.reason for told in peer.receive(bytes.fromhex("300100"), 1)] == ["unexpected_fc"]
    assert [len(peer.outgoing(now_ns * MS)) for now_ns in (1, 9, 10, 11, 20)] == [0, 0, 1, 0, 1]


def test_wait_starts_the_timer_again_and_too_many_in_a_row_end_the_transmission() -> None:
    peer = mid_transmission(wft_max=2)
    wait = bytes.fromhex("310000")
    assert peer.receive(wait, 900 * MS) == []
    assert peer.receive(wait, 1800 * MS) == []
    assert peer.deadline_ns() == 2800 * MS
    told = peer.receive(wait, 1900 * MS)
    assert told == [Failed("send", "wft_overrun", wait, "awaits flow control", 1900 * MS)]


def test_waits_are_counted_anew_for_each_block() -> None:
    peer = mid_transmission(wft_max=1)
    for _ in range(3):
        assert peer.receive(bytes.fromhex("310000"), 1) == []
        assert peer.receive(bytes.fromhex("300100"), 1) == []
        assert len(peer.outgoing(1)) == 1


@pytest.mark.parametrize(
    ("text", "reason"), [("320000", "overflow"), ("330000", "invalid_fs"), ("3f0000", "invalid_fs")]
)
def test_overflow_and_a_reserved_flow_status_end_the_transmission(text: str, reason: str) -> None:
    peer = mid_transmission()
    raw = bytes.fromhex(text)
    assert peer.receive(raw, 7) == [Failed("send", reason, raw, "awaits flow control", 7)]
    assert not peer.sending and peer.outgoing(8) == []


def test_no_more_than_a_burst_leaves_at_once() -> None:
    peer = mid_transmission(1000)
    peer.receive(GO, 5)
    assert len(peer.outgoing(5)) == BURST
    assert peer.deadline_ns() == 5


def test_flow_control_leaves_before_our_own_message() -> None:
    peer = endpoint()
    peer.send(b"\x3e\x00", 0)
    peer.receive(FIRST, 0)
    assert peer.outgoing(0) == [GO, SINGLE]


# Requests that cannot be: nothing is sent.


def test_a_second_message_waits_for_the_first() -> None:
    peer = mid_transmission()
    with pytest.raises(LocalError, match="being sent"):
        peer.send(b"\x3e\x00", 1)
    assert peer.sending


def test_an_empty_message_and_a_long_functional_one_are_refused() -> None:
    peer = endpoint()
    with pytest.raises(LocalError):
        peer.send(b"", 0)
    with pytest.raises(LocalError, match="functional"):
        peer.send(bytes(8), 0, functional=True)
    assert peer.outgoing(0) == []
    peer.send(bytes(7), 0, functional=True)
    assert peer.outgoing(0) == [b"\x07" + bytes(7)]


def test_a_reset_ends_both_roles_and_nothing_more_leaves() -> None:
    peer = mid_transmission()
    peer.receive(FIRST, 1)
    assert peer.reset(2) == [
        Failed("receive", "reset", b"", "flow control due", 2, (FIRST,)),
        Failed("send", "reset", b"", "awaits flow control", 2),
    ]
    assert peer.outgoing(3) == [] and peer.deadline_ns() is None
    assert peer.reset(4) == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"block_size": 256},
        {"padding": -1},
        {"tx_dl": 9},
        {"tx_dl": 64},
        {"n_cr_ns": 0},
        {"wft_max": -1},
        {"max_length": 0},
    ],
)
def test_settings_that_no_frame_can_carry_are_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(LocalError):
        Settings(**wrong)


def test_the_defaults_are_those_of_the_standard() -> None:
    settings = Settings()
    timeouts_ns = {settings.n_as_ns, settings.n_ar_ns, settings.n_bs_ns, settings.n_cr_ns}
    assert timeouts_ns == {1000 * MS}  # table 16, as the Linux kernel's isotp.c has it
    assert settings.n_br_ns < 0.9 * settings.n_bs_ns
    assert settings.n_cs_ns <= 0.9 * settings.n_cr_ns  # 9.8.2, from memory
    assert settings.padding == 0xCC  # 10.4.2


@pytest.mark.parametrize(
    "wrong",
    [
        {"tx_id": 0x800},
        {"tx_id": 0x2000_0000, "extended_id": True},
        {"tx_ext": 1},
        {"mode": "EXTENDED"},
        {"mode": "EXTENDED", "tx_ext": 0x100, "rx_ext": 0},
        {"mode": "NORMAL_FIXED"},
        {"mode": "NORMAL_FIXED", "extended_id": True},
        {"mode": "MIXED", "extended_id": True, "tx_ext": 1, "rx_ext": 1},
    ],
)
def test_addresses_that_the_standard_does_not_have_are_refused(wrong: dict[str, Any]) -> None:
    if "mode" in wrong:
        wrong = wrong | {"mode": getattr(type(NORMAL.mode), wrong["mode"])}
    with pytest.raises(LocalError):
        Address(**({"tx_id": 0x7E0, "rx_id": 0x7E8} | wrong))


def test_fixed_addresses_have_the_identifiers_of_9_7() -> None:
    assert (Address.normal_fixed(0x28, 0xF1).tx_id, Address.normal_fixed(0x28, 0xF1).rx_id) == (0x18DA28F1, 0x18DAF128)
    assert Address.normal_fixed(0x33, 0xF1, functional=True).tx_id == 0x18DB33F1
    assert Address.mixed_29(0x28, 0xF1, 0x99).tx_id == 0x18CE28F1
    assert Address.mixed_29(0x33, 0xF1, 0x99, functional=True).tx_id == 0x18CD33F1


@pytest.mark.parametrize(
    ("mode", "target", "source", "priority"),
    [
        ("NORMAL", 0x10, 0xF1, 6),
        ("EXTENDED", 0x10, 0xF1, 6),
        ("NORMAL_FIXED", 0x100, 0xF1, 6),
        ("NORMAL_FIXED", 0x10, -1, 6),
        ("MIXED", 0x10, 0xF1, 8),
    ],
)
def test_fixed_identifiers_that_cannot_be_are_refused(mode: str, target: int, source: int, priority: int) -> None:
    with pytest.raises(LocalError):
        fixed_id(getattr(type(NORMAL.mode), mode), target, source, priority=priority)


ACTS = st.one_of(
    st.tuples(st.just("receive"), st.binary(max_size=70)),
    st.tuples(st.just("receive"), st.sampled_from([FIRST, SECOND, THIRD, SINGLE, GO, b"\x31\0\0", b"\x30\1\xf1"])),
    st.tuples(st.just("send"), st.binary(max_size=40)),
    st.tuples(st.sampled_from(["outgoing", "tick", "sent", "hold", "release", "reset"]), st.just(b"")),
)


@given(
    st.lists(st.tuples(ACTS, st.integers(0, 1200 * MS)), max_size=40),
    st.sampled_from([{}, {"confirms": True}, {"fd": True, "tx_dl": 64}, {"block_size": 1, "wft_max": 0}]),
    st.sampled_from(sorted(ADDRESSES)),
)
def test_nothing_that_arrives_in_any_order_raises(acts: list[Any], settings: dict[str, Any], name: str) -> None:
    peer = Endpoint(ADDRESSES[name], Settings(**settings))
    now_ns = 0
    for (act, data), passed_ns in acts:
        now_ns += passed_ns
        match act:
            case "receive":
                told = peer.receive(data, now_ns)
                assert all(getattr(one, "raw", data) in (data, b"") for one in told)
            case "send" if not peer.sending and data:
                peer.send(data, now_ns)
            case "hold" | "release":
                peer.hold(act == "hold", now_ns)
            case "outgoing" | "tick" | "sent" | "reset":
                getattr(peer, act)(now_ns)
    peer.reset(now_ns)
    assert (peer.states, peer.deadline_ns()) == (("idle", "idle"), None)

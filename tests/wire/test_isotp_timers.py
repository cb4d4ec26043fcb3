"""N_As to N_Cr: ISO 15765-2:2016, 9.8.2 and table 16 (1000 ms: the Linux kernel's isotp.c)."""

from __future__ import annotations

from typing import Any

import pytest
from tests.wire.test_isotp_endpoint import FIRST, GO, SECOND, THIRD, WHOLE, mid_reception, mid_transmission

from witnessmark.wire.isotp import Address, Endpoint, Failed, Ignored, Sent, Settings
from witnessmark.wire.isotp.pdu import MS

SECOND_NS = 1000 * MS


def confirming(**settings: Any) -> Endpoint:
    return Endpoint(Address(0x7E0, 0x7E8), Settings(confirms=True, padding=None, **settings))


def test_n_bs_ends_a_transmission_that_gets_no_flow_control() -> None:
    peer = mid_transmission()
    assert peer.deadline_ns() == SECOND_NS
    assert peer.tick(SECOND_NS - 1) == []
    assert peer.tick(SECOND_NS) == [Failed("send", "n_timeout_bs", b"", "awaits flow control", SECOND_NS)]
    assert peer.receive(GO, SECOND_NS) == [Ignored("unexpected_fc", GO, SECOND_NS)]


def test_n_bs_runs_after_each_block() -> None:
    peer = mid_transmission(n_bs_ns=700 * MS)
    peer.receive(b"\x30\x01\x00", 5)
    assert len(peer.outgoing(7)) == 1
    assert peer.deadline_ns() == 7 + 700 * MS
    assert peer.tick(7 + 700 * MS)[0].reason == "n_timeout_bs"


def test_n_cr_ends_a_reception_whose_consecutive_frame_does_not_come() -> None:
    peer = mid_reception()
    assert peer.deadline_ns() == SECOND_NS
    expected = Failed("receive", "n_timeout_cr", b"", "awaits consecutive", SECOND_NS, (FIRST,))
    assert peer.tick(SECOND_NS) == [expected]


def test_n_cr_is_a_time_of_its_own_beside_n_ar() -> None:
    peer = mid_reception(n_ar_ns=300 * MS, n_cr_ns=700 * MS)
    assert peer.deadline_ns() == 700 * MS


def test_n_cr_starts_again_with_each_consecutive_frame() -> None:
    peer = mid_reception()
    peer.receive(SECOND, 600 * MS)
    assert peer.tick(1599 * MS) == []
    assert peer.tick(1600 * MS)[0].frames == (FIRST, SECOND)


def test_n_cr_runs_after_the_flow_control_of_each_block() -> None:
    peer = mid_reception(block_size=1)
    peer.receive(SECOND, 300 * MS)
    assert peer.outgoing(400 * MS) == [b"\x30\x01\x00"]
    assert peer.deadline_ns() == 1400 * MS
    assert peer.tick(1400 * MS)[0].reason == "n_timeout_cr"


def test_a_frame_that_comes_after_the_timeout_finds_the_reception_ended() -> None:
    peer = mid_reception()
    told = peer.receive(SECOND, SECOND_NS)
    assert [one.reason for one in told] == ["n_timeout_cr", "unexpected_cf"]


def test_a_frame_is_judged_by_its_own_stamp_not_by_when_it_was_read() -> None:
    peer = mid_reception()
    assert peer.receive(SECOND, 999 * MS) == []
    assert peer.receive(THIRD, 1100 * MS)[0].payload == WHOLE


def test_n_cs_stops_consecutive_frames_that_come_too_late_to_be_taken() -> None:
    peer = mid_transmission()
    peer.receive(b"\x30\x00\x0a", 0)
    assert len(peer.outgoing(0)) == 1
    assert peer.deadline_ns() == 10 * MS
    assert peer.outgoing(911 * MS) == []
    assert peer.deadline_ns() == 911 * MS  # what ended there is still to be told
    assert peer.tick(911 * MS) == [Failed("send", "n_timeout_cs", b"", "consecutive due", 911 * MS)]


def test_with_confirmation_one_frame_leaves_at_a_time_and_n_bs_counts_from_it() -> None:
    peer = confirming()
    peer.send(bytes(20), 0)
    assert len(peer.outgoing(1)) == 1
    assert peer.deadline_ns() == 1 + SECOND_NS
    peer.sent(3)
    assert peer.deadline_ns() == 3 + SECOND_NS
    peer.receive(b"\x30\x00\x01", 10)
    assert len(peer.outgoing(10)) == 1
    assert peer.outgoing(20 * MS) == []
    peer.sent(30 * MS)
    assert peer.deadline_ns() == 31 * MS  # STmin counts from when the frame left
    assert len(peer.outgoing(31 * MS)) == 1
    peer.sent(32 * MS)
    assert peer.tick(33 * MS) == [Sent(32 * MS)]


@pytest.mark.parametrize(("length", "during"), [(2, "single out"), (20, "first out")])
def test_n_as_ends_a_transmission_whose_frame_the_link_does_not_report(length: int, during: str) -> None:
    peer = confirming()
    peer.send(bytes(length), 0)
    peer.outgoing(0)
    assert peer.tick(SECOND_NS) == [Failed("send", "n_timeout_a", b"", during, SECOND_NS)]


def test_n_as_runs_for_consecutive_frames_too() -> None:
    peer = confirming()
    peer.send(bytes(20), 0)
    peer.outgoing(0)
    peer.sent(0)
    peer.receive(GO, 0)
    peer.outgoing(0)
    assert peer.tick(SECOND_NS)[0].during == "consecutive out"


def test_n_ar_ends_a_reception_whose_flow_control_the_link_does_not_report() -> None:
    peer = confirming()
    peer.receive(FIRST, 0)
    peer.outgoing(0)
    assert peer.tick(SECOND_NS) == [Failed("receive", "n_timeout_a", b"", "flow control out", SECOND_NS, (FIRST,))]


def test_an_answer_proves_that_the_frame_before_it_has_left() -> None:
    peer = confirming()
    peer.send(bytes(20), 0)
    peer.outgoing(0)
    assert peer.receive(b"\x30\x01\x00", 1) == []
    assert len(peer.outgoing(1)) == 1
    assert peer.receive(GO, 2) == []
    assert len(peer.outgoing(2)) == 1
    for late_ns in (3, 4, 5):  # of the first frame, the second and the last: only that one is still waited for
        assert peer.tick(late_ns) == []
        peer.sent(late_ns)
    assert peer.tick(6) == [Sent(5)]


def test_a_consecutive_frame_proves_that_our_flow_control_has_left() -> None:
    peer = confirming()
    peer.receive(FIRST, 0)
    peer.outgoing(0)
    assert peer.receive(SECOND, 1) == []
    peer.sent(2)
    assert peer.receive(THIRD, 3)[0].payload == WHOLE


def test_a_late_confirmation_of_an_earlier_message_is_not_taken_for_the_present_one() -> None:
    peer = confirming()
    peer.receive(FIRST, 0)
    peer.outgoing(0)
    peer.receive(FIRST, 1)
    peer.outgoing(1)
    peer.sent(2)
    assert peer.states[0] == "flow control out"
    peer.sent(3)
    assert peer.states[0] == "awaits consecutive"


@pytest.mark.parametrize("end", ["timeout", "reset"])
def test_a_frame_that_was_given_up_is_not_waited_for_again(end: str) -> None:
    peer = confirming()
    peer.send(bytes(2), 0)
    peer.outgoing(0)
    told = peer.tick(SECOND_NS) if end == "timeout" else peer.reset(SECOND_NS)
    assert [one.reason for one in told] == ["n_timeout_a" if end == "timeout" else "reset"]
    peer.send(bytes(3), SECOND_NS)
    peer.outgoing(SECOND_NS)
    peer.sent(SECOND_NS + 1)
    assert peer.tick(SECOND_NS + 1) == [Sent(SECOND_NS + 1)]

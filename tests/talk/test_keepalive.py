from __future__ import annotations

import pytest

from witnessmark.clock import NS, Stamp
from witnessmark.errors import LocalError
from witnessmark.link.frame import Message, Peer
from witnessmark.talk.keepalive import CURRENT_DATA, KWP_TESTER_PRESENT, KWP_WITHOUT_ANSWER, KeepAlive

UNIT, ALL = Peer(0x28, 0x28), Peer(0x33, None, functional=True)


def heard(payload: str, peer: Peer = UNIT) -> Message:
    return Message(peer, bytes.fromhex(payload), Stamp(0, 0), Stamp(0, 0))


def test_the_next_is_due_shortly_before_two_seconds_after_the_last() -> None:
    # ISO 14229-2: tester present every 2000 ms.
    keep = KeepAlive(UNIT, 0)
    assert keep.due_ns() == round(1.9 * NS)
    keep.left(2 * NS + 5)
    assert keep.due_ns() == round(3.9 * NS) + 5


def test_who_allows_less_time_gets_it_sooner() -> None:
    assert KeepAlive(UNIT, 0, most_s=1.0).due_ns() == NS
    assert KeepAlive(UNIT, 0, most_s=2.5).due_ns() == round(1.9 * NS)


def test_one_that_did_not_leave_is_tried_again_but_not_at_once() -> None:
    keep = KeepAlive(UNIT, 0)
    keep.failed(2 * NS)
    assert keep.due_ns() == round(2.25 * NS)
    keep.left(round(2.3 * NS))
    assert keep.due_ns() == round(4.2 * NS)


def test_gaps_count_from_the_start_and_to_the_end() -> None:
    keep = KeepAlive(UNIT, 0)
    assert keep.largest_gap_ns(NS) == NS
    keep.left(2 * NS)
    keep.left(4 * NS)
    assert keep.largest_gap_ns(5 * NS) == 2 * NS
    assert keep.largest_gap_ns(9 * NS) == 5 * NS


@pytest.mark.parametrize("request_", ["31010301", "2F710103", "3E81", "0104", "04", "1003", ""])
def test_nothing_that_acts_can_be_sent_to_keep_a_session(request_: str) -> None:
    with pytest.raises(LocalError, match="keeps a session"):
        KeepAlive(UNIT, 0, bytes.fromhex(request_))


@pytest.mark.parametrize(
    ("request_", "answer", "taken"),
    [
        (KWP_TESTER_PRESENT, "7E", True),
        (KWP_TESTER_PRESENT, "7E01", True),
        (KWP_TESTER_PRESENT, "7F3E12", False),  # a refusal is news
        (CURRENT_DATA, "4100BE3EB811", True),
        (CURRENT_DATA, "410D00", False),
        (KWP_WITHOUT_ANSWER, "7E", False),  # nobody asked for it
    ],
)
def test_the_answer_that_one_asks_for_is_its_own_once(request_: bytes, answer: str, taken: bool) -> None:
    keep = KeepAlive(UNIT, 0, request_)
    assert not keep.takes(heard(answer)), "nothing has left"
    keep.left(NS)
    assert keep.takes(heard(answer)) is taken
    assert not keep.takes(heard(answer)), "one request, one answer"


def test_the_answer_of_another_unit_is_not_taken_but_any_to_a_request_to_all_is() -> None:
    keep, to_all = KeepAlive(UNIT, 0, KWP_TESTER_PRESENT), KeepAlive(ALL, 0, CURRENT_DATA)
    for one in (keep, to_all):
        one.left(NS)
    assert not keep.takes(heard("7E", Peer(0x11, 0x11)))
    assert [to_all.takes(heard("4100BE3EB811", Peer(unit, unit))) for unit in (0x10, 0x18)] == [True, True]

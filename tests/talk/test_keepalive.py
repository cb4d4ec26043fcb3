from __future__ import annotations

from witnessmark.clock import NS
from witnessmark.link.frame import Peer
from witnessmark.talk.keepalive import KeepAlive


def test_the_next_is_due_two_seconds_after_the_last() -> None:
    # ISO 14229-2: tester present every 2000 ms.
    keep = KeepAlive(Peer(1, 2), 0)
    assert keep.due_ns() == 2 * NS
    keep.left(2 * NS + 5)
    assert keep.due_ns() == 4 * NS + 5


def test_gaps_count_from_the_start_and_to_the_end() -> None:
    keep = KeepAlive(Peer(1, 2), 0)
    assert keep.largest_gap_ns(NS) == NS
    keep.left(2 * NS)
    keep.left(4 * NS)
    assert keep.largest_gap_ns(5 * NS) == 2 * NS
    assert keep.largest_gap_ns(9 * NS) == 5 * NS

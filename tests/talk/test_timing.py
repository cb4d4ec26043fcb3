from __future__ import annotations

import pytest

from witnessmark.errors import PeerError
from witnessmark.talk.timing import Latency, Timing


def test_the_session_answer_replaces_p2_and_p2_star() -> None:
    # ISO 14229-1:2020, 10.2: P2 in 1 ms, P2* in 10 ms units.
    timing = Timing().after_session(bytes.fromhex("5003003201F4"))
    assert (timing.p2_s, timing.p2_star_s, timing.s3_s) == (0.05, 5.0, 5.0)
    assert Timing().after_session(bytes.fromhex("500300190064")).p2_star_s == 1.0


def test_a_session_answer_without_times_raises_and_says_which() -> None:
    with pytest.raises(PeerError) as caught:
        Timing().after_session(b"\x50\x03")
    assert caught.value.reason == "no_timing"


def test_latency_is_the_shortest_round_trip_but_never_under_the_floor() -> None:
    latency = Latency(floor_real_s=0.010)
    assert (latency.measured_ns, latency.added_ns) == (None, 10_000_000)
    latency.saw(40_000_000)
    latency.saw(25_000_000)
    latency.saw(60_000_000)
    assert latency.added_ns == 25_000_000
    latency.saw(1_000_000)
    assert latency.added_ns == 10_000_000


def test_on_a_faster_clock_the_same_real_delay_is_longer() -> None:
    assert Latency(rate=8, floor_real_s=0.010).added_ns == 80_000_000

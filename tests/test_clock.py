"""Clocks: monotonic deadlines, and a practice clock that says how fast it runs."""

from __future__ import annotations

import pytest

from witnessmark.clock import NS, ManualClock, PracticeClock, SystemClock, boot_id
from witnessmark.errors import LocalError


def test_the_system_clock_never_runs_back() -> None:
    clock = SystemClock()
    moments = [clock.stamp() for _ in range(100)]
    assert [m.mono_ns for m in moments] == sorted(m.mono_ns for m in moments)
    assert all(m.device_ns is None for m in moments)
    assert clock.rate == 1 and clock.real_s(2.5) == 2.5


def test_a_practice_clock_runs_its_rate_times_as_fast_on_every_clock() -> None:
    origin = SystemClock().stamp()
    slow, fast = PracticeClock(1, origin), PracticeClock(8, origin)
    before, now, after = slow.stamp(), fast.stamp(), slow.stamp()
    for name in ("wall_ns", "mono_ns", "boot_ns"):
        start = getattr(origin, name)
        low, high = getattr(before, name) - start, getattr(after, name) - start
        assert low * 8 <= getattr(now, name) - start <= high * 8
    assert fast.real_s(8.0) == 1.0


def test_two_practice_clocks_with_one_origin_agree() -> None:
    one = PracticeClock(4)
    other = PracticeClock(4, one.origin)
    first, second, third = one.mono_ns(), other.mono_ns(), one.mono_ns()
    assert first <= second <= third


@pytest.mark.parametrize("rate", [0, 9, -1])
def test_a_practice_rate_outside_one_to_eight_is_refused(rate: int) -> None:
    with pytest.raises(LocalError, match="between 1 and 8"):
        PracticeClock(rate)


def test_a_manual_clock_moves_only_when_told() -> None:
    clock = ManualClock(5 * NS)
    clock.advance(1.5)
    assert clock.stamp(device_ns=7).mono_ns == clock.mono_ns() == 6_500_000_000
    assert clock.stamp(device_ns=7).device_ns == 7


def test_the_boot_id_stays_the_same() -> None:
    assert boot_id() == boot_id() and len(boot_id()) == 36

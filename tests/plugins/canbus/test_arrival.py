"""The system's own moment of arrival as the stamp of a frame, where the clocks agree."""

from __future__ import annotations

import pytest

from witnessmark.clock import NS, Stamp
from witnessmark_canbus.frame_link import arrived

READ = Stamp(1_000 * NS, 50 * NS, 60 * NS, 7)


def test_a_frame_that_waited_is_stamped_as_it_came_on_every_clock() -> None:
    assert arrived(READ, 1_000 * NS - NS // 2) == Stamp(1_000 * NS - NS // 2, 50 * NS - NS // 2, 60 * NS - NS // 2, 7)


@pytest.mark.parametrize("wall_ns", [1_001 * NS, 900 * NS, 0])
def test_a_clock_that_was_set_in_between_tells_nothing(wall_ns: int) -> None:
    assert arrived(READ, wall_ns) == READ

"""However much waits on a bus, one `receive` takes only so much of it: a stop must not wait behind a flood."""

from __future__ import annotations

import os
import select
from typing import Any

from tests.plugins.canbus.far_ends import SlcanFarEnd

import witnessmark_canbus
from witnessmark.clock import NS, ManualClock, SystemClock
from witnessmark.link import address as addresses
from witnessmark.link.frame import Frame
from witnessmark.link.port import Capabilities
from witnessmark_canbus.frame_link import TURN_S, CanLink
from witnessmark_canbus.read_ahead import BLOCK

LINE = b"t2008%016X\r"
MANY = 150
"""Lines that together fit into the buffer of a pseudo-terminal."""


class FloodedBus:
    """A bus that always has one more frame, each of which takes a tenth of a millisecond to read."""

    def __init__(self, clock: ManualClock) -> None:
        self.clock = clock
        self.read = 0

    def fileno(self) -> int:
        return -1

    def shutdown(self) -> None:
        pass

    def recv(self, timeout: float) -> Any:
        import can

        self.read += 1
        self.clock.advance(0.0001)
        return can.Message(arbitration_id=0x200, is_extended_id=False, data=self.read.to_bytes(8, "big"))


def test_a_bus_that_keeps_the_rest_itself_is_left_after_a_turn() -> None:
    clock = ManualClock()
    bus = FloodedBus(clock)
    link = CanLink(bus, clock, Capabilities())
    before_ns = clock.mono_ns()
    came = link.receive(0.0)
    assert 1 < len(came) == bus.read <= TURN_S / 0.0001 + 2
    assert (clock.mono_ns() - before_ns) / NS < 2 * TURN_S
    link.close()


def test_a_serial_line_is_read_in_blocks_and_its_descriptor_tells_of_the_rest() -> None:
    far = SlcanFarEnd()
    try:
        link = witnessmark_canbus.open_link(addresses.parse(far.address), SystemClock(), False)
        number = link.fileno()
        assert number is not None
        far.write(b"".join(LINE % value for value in range(MANY)))
        heard: list[int] = []
        while len(heard) < MANY and select.select([number], [], [], 5.0)[0]:
            came = link.receive(0.0)
            assert len(came) <= BLOCK // len(LINE % 0) + 1
            heard += [int.from_bytes(one.data, "big") for one in came if isinstance(one, Frame)]
        assert heard == list(range(MANY)), f"none lost, in order ({os.name})"
        link.close()
    finally:
        far.close()

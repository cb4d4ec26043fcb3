"""can-isotp 2.0 without threads, as the other side of one of our endpoints, on a clock that both share."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from unittest.mock import patch

import isotp
from tests.wire.isotp_pair import ADDRESSES

from witnessmark.wire.isotp import Address, Endpoint, Indication, Settings

MODES = {
    "normal 11": isotp.AddressingMode.Normal_11bits,
    "normal 29": isotp.AddressingMode.Normal_29bits,
    "normal fixed": isotp.AddressingMode.NormalFixed_29bits,
    "extended 11": isotp.AddressingMode.Extended_11bits,
    "extended 29": isotp.AddressingMode.Extended_29bits,
    "mixed 11": isotp.AddressingMode.Mixed_11bits,
    "mixed 29": isotp.AddressingMode.Mixed_29bits,
}


def their_address(name: str) -> isotp.Address:
    """The far side of the connection that `ADDRESSES[name]` is the near side of."""
    ours: Address = ADDRESSES[name]
    mode = MODES[name]
    if name == "normal fixed":
        return isotp.Address(mode, target_address=0xF1, source_address=0x10)
    if name == "mixed 29":
        return isotp.Address(mode, target_address=0xF1, source_address=0x10, address_extension=0x99)
    extra: dict[str, int | None] = {}
    if name.startswith("extended"):
        extra = {"target_address": ours.rx_ext, "source_address": ours.tx_ext}
    elif name.startswith("mixed"):
        extra = {"address_extension": ours.rx_ext}
    return isotp.Address(mode, txid=ours.rx_id, rxid=ours.tx_id, **extra)


@dataclass
class Clock:
    """Stands in for the `time` module inside can-isotp."""

    now_ns: int = 0

    def perf_counter_ns(self) -> int:
        return self.now_ns


@contextmanager
def shared_clock() -> Iterator[Clock]:
    clock = Clock()
    with patch("isotp.tools.time", clock):
        yield clock


@dataclass
class Duel:
    """Our endpoint and their layer on one bus. `frames` is all that was on it, with who sent it."""

    clock: Clock
    name: str = "normal 11"
    settings: Settings = field(default_factory=lambda: Settings(padding=None))
    params: dict[str, Any] = field(default_factory=dict)
    told: list[Indication] = field(default_factory=list)
    frames: list[tuple[str, bytes]] = field(default_factory=list)
    errors: list[Exception] = field(default_factory=list)
    to_them: deque[isotp.CanMessage] = field(default_factory=deque)
    from_them: deque[isotp.CanMessage] = field(default_factory=deque)

    def __post_init__(self) -> None:
        self.ours = Endpoint(ADDRESSES[self.name], self.settings)
        self.theirs = isotp.TransportLayerLogic(
            rxfn=lambda timeout: self.to_them.popleft() if self.to_them else None,
            txfn=self.from_them.append,
            address=their_address(self.name),
            params={"max_frame_size": 10_000, "blocksize": 0} | self.params,
            error_handler=self.errors.append,
        )

    def give(self, data: bytes) -> None:
        """Put one frame of ours on the bus."""
        address = self.ours.address
        frame = isotp.CanMessage(address.tx_id, len(data), data, address.extended_id, self.settings.fd)
        self.frames.append(("ours", data))
        self.to_them.append(frame)
        self.theirs.process()

    def run(self) -> None:
        """Go on until neither side has anything to do."""
        while True:
            for data in self.ours.outgoing(self.clock.now_ns):
                self.give(data)
            self.theirs.process()
            while self.from_them:
                frame = self.from_them.popleft()
                assert (frame.arbitration_id, frame.is_extended_id) == (
                    self.ours.address.rx_id,
                    self.ours.address.extended_id,
                )
                self.frames.append(("theirs", bytes(frame.data)))
                self.told += self.ours.receive(bytes(frame.data), self.clock.now_ns)
            self.told += self.ours.tick(self.clock.now_ns)
            delay_s = self.theirs.next_cf_delay()
            moments = [self.ours.deadline_ns()]
            if delay_s is not None:
                moments.append(self.clock.now_ns + int(delay_s * 1e9) + 1)
            due = [moment for moment in moments if moment is not None]
            if not due and not self.from_them and not self.to_them:
                return
            self.clock.now_ns = max(self.clock.now_ns, min(due))

    def received(self) -> list[bytes]:
        """The messages that their side has taken in since the last call."""
        found = []
        while self.theirs.available():
            found.append(bytes(self.theirs.recv()))
        return found

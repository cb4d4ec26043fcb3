"""Two endpoints wired to each other in memory, with a clock that jumps to the next deadline."""

from __future__ import annotations

from dataclasses import dataclass, field

from witnessmark.wire.isotp import Address, Addressing, Endpoint, Indication, Settings

NORMAL = Address(0x7E0, 0x7E8)
ADDRESSES = {
    "normal 11": NORMAL,
    "normal 29": Address(0x18DA10F1, 0x18DAF110, extended_id=True),
    "normal fixed": Address.normal_fixed(0x10, 0xF1),
    "extended 11": Address(0x6F1, 0x610, mode=Addressing.EXTENDED, tx_ext=0x10, rx_ext=0xF1),
    "extended 29": Address(0x1000, 0x1001, True, Addressing.EXTENDED, 0x10, 0xF1),
    "mixed 11": Address(0x7E0, 0x7E8, mode=Addressing.MIXED, tx_ext=0x99, rx_ext=0x99),
    "mixed 29": Address.mixed_29(0x10, 0xF1, 0x99),
}


def turned(address: Address) -> Address:
    """The same connection as the peer sees it."""
    return Address(address.rx_id, address.tx_id, address.extended_id, address.mode, address.rx_ext, address.tx_ext)


@dataclass
class Pair:
    """`near` and `far` joined by a bus that takes no time. `frames` is all that was on it, with who sent it."""

    near: Endpoint
    far: Endpoint
    now_ns: int = 0
    near_told: list[Indication] = field(default_factory=list)
    far_told: list[Indication] = field(default_factory=list)
    frames: list[tuple[int, str, bytes]] = field(default_factory=list)

    def run(self) -> None:
        """Go on until neither side has anything to do."""
        while True:
            for data in self.near.outgoing(self.now_ns):
                self.frames.append((self.now_ns, "near", data))
                self.far_told += self.far.receive(data, self.now_ns)
            for data in self.far.outgoing(self.now_ns):
                self.frames.append((self.now_ns, "far", data))
                self.near_told += self.near.receive(data, self.now_ns)
            self.near_told += self.near.tick(self.now_ns)
            self.far_told += self.far.tick(self.now_ns)
            moments = [m for m in (self.near.deadline_ns(), self.far.deadline_ns()) if m is not None]
            if not moments:
                return
            self.now_ns = max(self.now_ns, min(moments))


def pair(address: Address = NORMAL, near: Settings | None = None, far: Settings | None = None) -> Pair:
    return Pair(Endpoint(address, near), Endpoint(turned(address), far))

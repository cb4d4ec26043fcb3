"""The good link in memory keeps every rule of a frame link."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.testing import FrameLinkContract
from witnessmark.testing.memory import MemoryFarEnd, MemoryLink, open_link


class TestMemoryLink(FrameLinkContract):
    scheme: ClassVar[str] = "memory"
    missing: ClassVar[str | None] = "memory:nowhere"
    paced: ClassVar[bool] = False  # the socket pair holds the sender back

    def found(self) -> Sequence[Address]:
        return [Address(self.scheme, "1")]

    def far_end(self) -> MemoryFarEnd:
        return MemoryFarEnd()

    def open(self, address: str, listen_only: bool = False) -> MemoryLink:
        return open_link(addresses.parse(address), self.clock(), listen_only)

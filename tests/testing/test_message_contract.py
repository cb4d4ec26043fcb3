"""The good link in memory keeps every rule of a message link."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.testing import MessageLinkContract
from witnessmark.testing.memory_messages import MemoryMessageLink, MemoryUnit, open_link


class TestMemoryMessageLink(MessageLinkContract):
    scheme: ClassVar[str] = "memory-messages"
    missing: ClassVar[str | None] = "memory-messages:nowhere"

    def found(self) -> Sequence[Address]:
        return [Address(self.scheme, "1")]

    def far_end(self) -> MemoryUnit:
        return MemoryUnit()

    def open(self, address: str, listen_only: bool = False) -> MemoryMessageLink:
        return open_link(addresses.parse(address), self.clock(), listen_only)

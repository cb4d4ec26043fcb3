"""The example adapter, from which new plugins begin, keeps the contract."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from witnessmark.link import address as addresses
from witnessmark.link.address import Address
from witnessmark.testing import example_adapter, example_contract


class TestExample(example_contract.TestExample):
    full_rate_s: ClassVar[float] = 2.0

    def found(self) -> Sequence[Address]:
        return [address for address, _ in example_adapter.find_links()]

    def open(self, address: str, listen_only: bool = False) -> Any:
        return example_adapter.open_link(addresses.parse(address), self.clock(), listen_only)

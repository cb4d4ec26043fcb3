"""The example adapter, from which new plugins begin, keeps the contract."""

from __future__ import annotations

from typing import Any, ClassVar

from witnessmark.link import address as addresses
from witnessmark.testing import example_adapter, example_contract


class TestExample(example_contract.TestExample):
    full_rate_s: ClassVar[float] = 2.0

    def open(self, address: str, listen_only: bool = False) -> Any:
        return example_adapter.open_link(addresses.parse(address), self.clock(), listen_only)

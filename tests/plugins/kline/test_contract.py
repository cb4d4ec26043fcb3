"""The K-line adapter keeps the contract over a pseudo-terminal, which carries its bytes and not its levels."""

from __future__ import annotations

from typing import Any, ClassVar

from tests.plugins.kline.unit import KlineUnit

import witnessmark_kline
from witnessmark.link import address as addresses
from witnessmark.testing import MessageLinkContract


class TestKline(MessageLinkContract):
    scheme: ClassVar[str] = "kline"
    missing: ClassVar[str | None] = "kline:/dev/no-such-port"
    exchanges: ClassVar[int] = 8  # each takes a tenth of a second: P3 and P4 of the standard
    sizes: ClassVar[tuple[int, ...]] = (4, 7, 63, 64, 255)

    def far_end(self) -> KlineUnit:
        return KlineUnit()

    def open(self, address: str, listen_only: bool = False) -> Any:
        return witnessmark_kline.open_link(addresses.parse(address), self.clock(), listen_only)

"""The python-can adapter keeps the contract, on a serial line and on a bus in memory."""

from __future__ import annotations

from typing import Any, ClassVar

from tests.plugins.canbus.far_ends import SlcanFarEnd, VirtualFarEnd

import witnessmark_canbus
from witnessmark.link import address as addresses
from witnessmark.testing import FrameLinkContract


class _Canbus(FrameLinkContract):
    paced: ClassVar[bool] = False  # the pseudo-terminal and the queue hold the sender back

    def open(self, address: str, listen_only: bool = False) -> Any:
        return witnessmark_canbus.open_link(addresses.parse(address), self.clock(), listen_only)


class TestSerialLine(_Canbus):
    scheme: ClassVar[str] = "canbus"
    missing: ClassVar[str | None] = "canbus:slcan//dev/no-such-port?bitrate=500000"

    def far_end(self) -> SlcanFarEnd:
        return SlcanFarEnd()


class BinaryGarbage(SlcanFarEnd):
    garbage = b"\xff\xfe\x80t\r"


class TestSerialLineWithBytesThatAreNoText(TestSerialLine):
    full_rate_s: ClassVar[float] = 0.5

    def far_end(self) -> SlcanFarEnd:
        return BinaryGarbage()


class TestInMemory(_Canbus):
    scheme: ClassVar[str] = "canbus"
    shared: ClassVar[bool | None] = True

    def far_end(self) -> VirtualFarEnd:
        return VirtualFarEnd()

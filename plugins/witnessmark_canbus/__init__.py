"""Any CAN interface that the python-can library knows, as frames.

An address names the library's interface and channel, as `canbus:slcan//dev/ttyACM0?bitrate=500000`.
`filter` takes identifiers in hex, `7E8,18DAF110x` or with a mask `700/780`, and goes to the hardware where it can;
`can.NAME=VALUE` hands any other setting to the library. Listen-only is refused where the interface cannot promise it.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.plugin import Address, Clock, FrameLink, hookimpl

ADDRESS = "canbus:INTERFACE/CHANNEL?bitrate=500000"
API_VERSION = 1
CONTRACT_VERSION = 2


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> FrameLink:
    """Open the bus and return the link. Nothing stays open after a raise."""
    from witnessmark_canbus.opening import open_bus

    return open_bus(address, clock, listen_only)


@hookimpl
def find_links() -> Sequence[tuple[Address, str]]:
    """Return what python-can detects, and serial ports that may carry a serial-line interface."""
    from witnessmark_canbus.finding import find

    return find()

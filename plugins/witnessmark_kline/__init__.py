"""K-line straight on a serial port: ISO 14230-2 and ISO 9141-2 with a bare level-shifting cable.

An address names the port and how a control unit is woken: `kline:/dev/ttyUSB1?init=fast`, `init=5baud`, or `init=none`
where it needs none. `echo=no` is for the rare cable that does not give our own bytes back; `tester` is our address in
hex, `baud` the speed; `gap_ms` is how long a sender may pause inside a message, for slow serial drivers.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.plugin import Address, Clock, InputError, MessageLink, hookimpl

ADDRESS = "kline:PORT?init=fast"
API_VERSION = 1
CONTRACT_VERSION = 2


@hookimpl
def open_link(address: Address, clock: Clock, listen_only: bool) -> MessageLink:
    """Open the port. Nothing is sent before `wake` or `send`; listening only never sends, so it is always kept."""
    from witnessmark_kline.message_link import KlineLink
    from witnessmark_kline.serial_line import SerialLine

    address.check_options("init", "echo", "tester", "baud", "gap_ms")
    if not address.place:
        raise InputError("no port", place=f"address {address}", hint=f"write {ADDRESS}")
    init = _one_of(address, "init", ("fast", "5baud", "none"))
    echo = _one_of(address, "echo", ("yes", "no")) == "yes"
    tester = _number(address, "tester", "F1", 16, 0xFF)
    baud = _number(address, "baud", "10400", 10, 1_000_000)
    gap_ms = _number(address, "gap_ms", "22", 10, 1000)
    line = SerialLine(address.place, baud, clock)
    return KlineLink(
        line, clock, init=init, echo=echo, tester=tester, gap_s=gap_ms / 1000, baud=baud, listen_only=listen_only
    )


@hookimpl
def find_links() -> Sequence[tuple[Address, str]]:
    """Return the serial ports with their names; which of them is a K-line cable cannot be seen."""
    from serial.tools import list_ports

    ports = sorted(list_ports.comports())
    return [
        (Address("kline", port.device, {"init": "fast"}), f"{port.description}, if it is a K-line cable")
        for port in ports
    ]


def _one_of(address: Address, name: str, values: tuple[str, ...]) -> str:
    value = address.option(name, values[0])
    if value not in values:
        raise InputError(
            f"{name}={value} is not known", place=f"address {address}", hint=f"{name} is {' or '.join(values)}"
        )
    return value


def _number(address: Address, name: str, default: str, digits: int, most: int) -> int:
    text = address.option(name, default)
    try:
        value = int(text, digits)
    except ValueError:
        value = 0
    if not 1 <= value <= most:
        raise InputError(f"{name}={text} is out of range", place=f"address {address}", hint=f"write {name}={default}")
    return value

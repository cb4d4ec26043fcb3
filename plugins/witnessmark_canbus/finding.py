"""What is plugged in, as python-can and the system's list of serial ports tell it. Opens and sends nothing."""

from __future__ import annotations

import logging
from typing import Any

from witnessmark.plugin import Address

LEFT_OUT = {"virtual", "serial"}
"""A bus inside this process only; and any serial port, which is listed below as what it more often is."""


def find() -> list[tuple[Address, str]]:
    """Return the address to type and a few words for each."""
    try:
        import can
    except ImportError:
        return []
    from serial.tools import list_ports

    found = []
    for config in _detect(can):
        if config["interface"] in LEFT_OUT:
            continue
        place = f"{config['interface']}/{config['channel']}"
        options = {} if config["interface"] in ("socketcan", "udp_multicast") else {"bitrate": "500000"}
        found.append((Address("canbus", place, options), f"python-can {config['interface']}"))
    for port in sorted(list_ports.comports()):
        words = f"{port.description}, if it speaks the serial-line CAN protocol"
        found.append((Address("canbus", f"slcan/{port.device}", {"bitrate": "500000"}), words))
    return found


def _detect(can: Any) -> list[Any]:
    """Let the library look; what it logs of drivers that are not installed is not news to who looks for a plug."""
    logger = logging.getLogger("can")
    level = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        return list(can.detect_available_configs(timeout=1.5))
    finally:
        logger.setLevel(level)

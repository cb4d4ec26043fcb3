"""What is plugged in, as python-can and the system's list of serial ports tell it. Opens and sends nothing."""

from __future__ import annotations

from witnessmark.plugin import Address


def find() -> list[tuple[Address, str]]:
    """Return the address to type and a few words for each."""
    try:
        import can
    except ImportError:
        return []
    from serial.tools import list_ports

    found = []
    for config in can.detect_available_configs():
        if config["interface"] == "virtual":
            continue  # a bus inside this process only
        place = f"{config['interface']}/{config['channel']}"
        options = {} if config["interface"] in ("socketcan", "udp_multicast") else {"bitrate": "500000"}
        found.append((Address("canbus", place, options), f"python-can {config['interface']}"))
    for port in sorted(list_ports.comports()):
        words = f"{port.description}, if it speaks the serial-line CAN protocol"
        found.append((Address("canbus", f"slcan/{port.device}", {"bitrate": "500000"}), words))
    return found

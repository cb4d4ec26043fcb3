"""An address to the settings of a python-can bus.

In: `canbus:INTERFACE/CHANNEL?...`. Out: what `can.Bus` takes. Rules: only names listed here or written `can.NAME` are
taken, the rest is refused with its place.
"""

from __future__ import annotations

import re
from typing import Any

from witnessmark.plugin import Address, InputError

KNOWN = ("bitrate", "data_bitrate", "fd", "filter")
_FILTER = re.compile(r"([0-9A-Fa-f]{1,8})(?:/([0-9A-Fa-f]{1,8}))?(x?)\Z")


def bus_settings(address: Address) -> dict[str, Any]:
    """Return keyword arguments for `can.Bus`. Raises InputError that names what is wrong."""
    interface, slash, channel = address.place.partition("/")
    if not interface or not slash or not channel:
        raise InputError(
            "no interface and channel",
            place=f"address {address}",
            hint="write canbus:INTERFACE/CHANNEL, as canbus:socketcan/can0; see `witnessmark adapters find`",
        )
    Address(address.scheme, address.place, {k: v for k, v in address.options.items() if k[:4] != "can."}).check_options(
        *KNOWN
    )
    settings: dict[str, Any] = {"interface": interface, "channel": channel}
    for name, value in address.options.items():
        if name.startswith("can."):
            settings[name[4:]] = _plain(value)
        elif name == "filter":
            settings["can_filters"] = [read_filter(one, address) for one in value.split(",")]
        elif name == "fd":
            settings["fd"] = _yes(value, address)
        else:
            settings[name] = _number(name, value, address)
    return settings


def read_filter(text: str, address: Address) -> dict[str, Any]:
    """Read `7E8`, `18DAF110x` or `700/780`: identifier, mask, and an x where it has 29 bits."""
    match = _FILTER.match(text)
    extended = bool(match and match[3])
    top = 0x1FFF_FFFF if extended else 0x7FF
    if match is None or int(match[1], 16) > top:
        raise InputError(f"filter {text!r} is no identifier", place=f"address {address}", hint="write 7E8 or 18DAF110x")
    mask = int(match[2], 16) if match[2] else top
    return {"can_id": int(match[1], 16), "can_mask": mask, "extended": extended}


def _number(name: str, value: str, address: Address) -> int:
    if not value.isdecimal() or not int(value):
        raise InputError(f"{name} {value!r} is not a number", place=f"address {address}", hint="write bit/s: 500000")
    return int(value)


def _yes(value: str, address: Address) -> bool:
    if value not in ("yes", "no"):
        raise InputError(f"fd {value!r} is neither yes nor no", place=f"address {address}", hint="write fd=yes")
    return value == "yes"


def _plain(value: str) -> str | int | float | bool:
    """Take a library setting as a number or truth where it reads as one."""
    for kind in (int, float):
        try:
            return kind(value)
        except ValueError:
            continue
    return {"yes": True, "no": False}.get(value, value)

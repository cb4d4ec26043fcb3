"""Opens a python-can bus so that each way of failing has its own kind and hint.

In: an address. Out: a `CanLink`. Rules: a serial port is claimed before a byte goes to it; listen-only is given only
where the interface promises it; nothing stays open after a raise.
"""

from __future__ import annotations

import errno
import os
import socket
from collections.abc import Callable
from typing import Any

from witnessmark.plugin import Address, Capabilities, Clock, InputError, LinkError, LocalError, cannot_open, errno_of
from witnessmark_canbus.frame_link import CanLink
from witnessmark_canbus.listening import make_silent, silent_settings
from witnessmark_canbus.port_claim import claim
from witnessmark_canbus.read_ahead import ReadAhead
from witnessmark_canbus.settings import bus_settings

HOST_CLOCK = {"slcan", "virtual"}
"""Interfaces whose time stamps are the library's own look at this machine's clock, and say nothing new."""
ECHOES = {"udp_multicast"}
"""Interfaces that give our own frames back without saying so."""

SOCKETS = {"socketcan", "udp_multicast"}
"""Interfaces whose frames wait in a socket."""
DEPTH = 4 << 20
"""Bytes that may wait in a socket: more than a second of a full bus, where the usual depth is less than a tenth."""
RCVBUFFORCE = 33
"""The Linux socket option that goes beyond the system's limit, for who is allowed to (from memory)."""


def open_bus(address: Address, clock: Clock, listen_only: bool) -> CanLink:
    """Open the bus at `address`. Raises as the hook `open_link` says."""
    settings = bus_settings(address)
    try:
        import can
    except ImportError as error:
        raise LocalError("python-can is not installed", hint="pip install 'witnessmark[canbus]'") from error
    interface = settings["interface"]
    if interface not in can.VALID_INTERFACES:
        raise InputError(
            f"python-can knows no interface {interface!r}",
            place=f"address {address}",
            hint=f"one of: {', '.join(sorted(can.VALID_INTERFACES))}",
        )
    if listen_only:
        settings |= silent_settings(interface, settings["channel"])
    release = claim(settings["channel"].partition("@")[0]) if interface == "slcan" else _nothing
    try:
        bus = can.Bus(**settings)
    except Exception as error:
        release()
        if isinstance(error, can.CanError | OSError | ValueError | TypeError | ImportError | NotImplementedError):
            raise _cannot_open(error, address) from error
        raise
    return _link(bus, interface, settings, clock, listen_only, release)


def _link(
    bus: Any, interface: str, settings: dict[str, Any], clock: Clock, listen_only: bool, release: Callable[[], None]
) -> CanLink:
    ahead = None
    try:
        if listen_only:
            make_silent(bus, interface)
        if interface in SOCKETS:
            deepen(bus.fileno())
        if interface == "slcan":
            ahead = bus.serialPortOrig = ReadAhead(bus.serialPortOrig)
    except BaseException:
        bus.shutdown()
        release()
        raise
    capabilities = Capabilities(
        listen="silent" if listen_only or interface in ("slcan", "virtual", "udp_multicast") else "acknowledging",
        can_send=not listen_only,
        device_clock=interface not in HOST_CLOCK,
        stamps="arrived" if interface in SOCKETS and listen_only and clock.rate == 1 else "read",
        fd=bool(settings.get("fd", False)),
    )
    return CanLink(
        bus,
        clock,
        capabilities,
        ahead=ahead,
        echoes=interface in ECHOES,
        classes=interface == "socketcan",
        channel=settings["channel"],
        release=release,
    )


def deepen(number: int) -> None:
    """Let more frames wait in a socket while this process is held up, as far as the system allows."""
    with socket.socket(fileno=os.dup(number)) as same:
        for option in (socket.SO_RCVBUF, RCVBUFFORCE):
            try:
                same.setsockopt(socket.SOL_SOCKET, option, DEPTH)
            except OSError:
                continue  # not allowed to: the system's own depth holds


def _nothing() -> None:
    """Give back nothing: only a serial port is claimed."""


def _cannot_open(error: Exception, address: Address) -> LinkError | InputError:
    number = errno_of(error)
    if number == errno.ENETDOWN:
        return _refused("no_answer", f"{address.place} is down", "bring the network interface up with its bit rate")
    if number is None and isinstance(error.__cause__ or error, ValueError | TypeError):
        return InputError(f"python-can refuses it: {error}", place=f"address {address}", hint="check the options")
    if number is None:
        return _refused("missing", f"{address.place} cannot be opened: {error}", "check its driver, plug and options")
    return cannot_open(address.place, error, write="canbus:INTERFACE/CHANNEL?bitrate=500000")


def _refused(kind: str, what: str, hint: str) -> LinkError:
    return LinkError(what, kind=kind, hint=hint, reached="nothing")

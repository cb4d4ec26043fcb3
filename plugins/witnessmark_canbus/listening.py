"""Which interfaces can promise to listen without a trace on the bus, and how each is asked.

In: the library's name of an interface. Out: settings that make it silent, or a refusal. Rules: silent means that not
even an acknowledge bit is sent; where nobody can promise that, listening is refused, never assumed.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from typing import Any

from witnessmark.plugin import LocalError

NO_CONTROLLER = {"virtual", "udp_multicast"}
"""Buses of software: there is no acknowledge bit to send."""


def silent_settings(interface: str, channel: str, describe: Callable[[str], str] | None = None) -> dict[str, Any]:
    """Return the settings that open `interface` silent.

    A SocketCAN interface is made silent by who brings it up; `describe` returns what `ip -details -json link show`
    says of it. Raises LocalError where it is not.
    """
    if interface == "slcan":
        return {"listen_only": True}
    if interface != "socketcan":
        return {}
    described = (describe or _ip_link)(channel)
    if not described.strip():
        raise LocalError(
            f"nothing tells that {channel} listens only: `ip link show {channel}` says nothing",
            hint=f"plug it in; ip link set {channel} type can bitrate 500000 listen-only on; ip link set {channel} up",
        )
    if not is_silent(described):
        raise LocalError(
            f"{channel} acknowledges what others send: it is not in listen-only mode",
            hint=f"ip link set {channel} down; ip link set {channel} type can listen-only on; ip link set {channel} up",
        )
    return {}


def make_silent(bus: Any, interface: str) -> None:
    """Ask an open bus to be silent and read that back. Raises LocalError where the library cannot promise it."""
    import can

    if interface in NO_CONTROLLER or interface in ("slcan", "socketcan"):
        return
    try:
        bus.state = can.BusState.PASSIVE
        silent = bus.state is can.BusState.PASSIVE
    except (NotImplementedError, AttributeError, ValueError, can.CanError):
        silent = False
    if not silent:
        raise LocalError(
            f"{interface} cannot promise to listen without acknowledging",
            hint="use an interface that has a silent mode, or open it without listen-only",
        )


def is_silent(described: str) -> bool:
    """Whether `ip -details -json link show` says that the interface listens only (its output from memory)."""
    try:
        links = json.loads(described or "[]")
        return any("LISTEN-ONLY" in link["linkinfo"]["info_data"].get("ctrlmode", ()) for link in links)
    except (ValueError, KeyError, TypeError, AttributeError):
        return False


def _ip_link(channel: str) -> str:
    try:
        done = subprocess.run(
            ["ip", "-details", "-json", "link", "show", "dev", channel],
            capture_output=True,
            text=True,
            check=False,
            timeout=5,
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout

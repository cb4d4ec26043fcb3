"""A python-can message to a frame or an event, and back.

In: `can.Message`. Out: `Frame`, or an `Event` for an error frame. Rules: what the library flags as our own is an echo;
an error frame is never data. The error classes are those of the Linux header linux/can/error.h (from memory).
"""

from __future__ import annotations

from typing import Any

from witnessmark.plugin import Event, Frame, Stamp

BUS_OFF = 0x40
ERROR_CLASSES = {
    0x001: "sending timed out",
    0x002: "arbitration lost",
    0x004: "controller problem",
    0x008: "protocol violation",
    0x010: "transceiver problem",
    0x020: "nobody acknowledged",
    BUS_OFF: "bus off",
    0x080: "bus error",
    0x100: "controller restarted",
}


def from_message(message: Any, stamp: Stamp, *, classes: bool, channel: str, echo: bool) -> Frame | Event:
    """Read one message. `classes` says that the identifier of an error frame holds Linux error classes."""
    if message.is_error_frame:
        return _error(message, stamp, classes)
    return Frame(
        message.arbitration_id,
        bytes(message.data),
        stamp,
        "echo" if echo or not message.is_rx else "received",
        bool(message.is_extended_id),
        bool(message.is_fd),
        "remote" if message.is_remote_frame else "data",
        channel,
    )


def to_message(frame: Frame) -> Any:
    """Build the message that carries a frame."""
    import can

    return can.Message(
        arbitration_id=frame.can_id,
        data=None if frame.kind == "remote" else frame.data,
        is_extended_id=frame.extended,
        is_fd=frame.fd,
        is_remote_frame=frame.kind == "remote",
    )


def _error(message: Any, stamp: Stamp, classes: bool) -> Event:
    bits = message.arbitration_id & 0x1FFF_FFFF if classes else 0
    told = [text for bit, text in ERROR_CLASSES.items() if bits & bit]
    return Event(
        "bus_off" if bits & BUS_OFF else "bus_error",
        stamp,
        raw=message.arbitration_id.to_bytes(4, "big") + bytes(message.data),
        detail=", ".join(told) or "error frame",
    )

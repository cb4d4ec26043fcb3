"""Conversations and DoIP messages as lines for people: when, who, what it means, the bytes."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime

from witnessmark.cli.decode.sums import counted
from witnessmark.recording.conversation import Conversation, begun, frames_heard, frames_missing, line_of
from witnessmark.recording.doip import DoipMessage, StreamLoss
from witnessmark.recording.finding import Found
from witnessmark.recording.line import NO_TIME_NS
from witnessmark.recording.meaning import describe, describe_request
from witnessmark.recording.remarks import mismatch, why_alone
from witnessmark.wire import doip
from witnessmark.wire.isotp.passive import Lost, Message

_A_DATE_NS = 946_684_800_000_000_000
"""Times before 2000-01-01 are seconds since some start, not dates."""
_SHOWN_BYTES = 12
_UNTIMED = "no time recorded"

_CODES = {
    doip.NegativeAcknowledge: doip.HEADER_NACKS,
    doip.RoutingActivationResponse: doip.ACTIVATION_CODES,
    doip.DiagnosticNack: doip.DIAGNOSTIC_NACKS,
    doip.PowerModeResponse: doip.POWER_MODES,
}
_TYPES = {
    0x0000: "negative acknowledge of the header",
    0x0001: "vehicle identification request",
    0x0002: "vehicle identification request with EID",
    0x0003: "vehicle identification request with VIN",
    0x0004: "vehicle announcement",
    0x0005: "routing activation request",
    0x0006: "routing activation response",
    0x0007: "alive check request",
    0x0008: "alive check response",
    0x4001: "entity status request",
    0x4002: "entity status response",
    0x4003: "power mode request",
    0x4004: "power mode response",
    0x8001: "diagnostic message",
    0x8002: "diagnostic message acknowledge",
    0x8003: "diagnostic message negative acknowledge",
}
"""Payload types of ISO 13400-2:2019, table 17, in words (from memory)."""

_REFUSALS = {
    "inverse_version": "the inverse version does not match the version",
    "payload_length": "a payload of this type cannot have this length",
    "datagram_length": "the datagram is shorter or longer than its header says",
    "header_short": "the header is cut off",
    "too_large": "the announced length cannot be",
}
_LOSSES = {
    "interrupted_by_sf": "another message began before it was complete",
    "interrupted_by_ff": "another message began before it was complete",
    "wrong_sn": "a frame out of sequence",
    "gap": "N_Cr ran out, more than a second between two frames",
    "no_first_frame": "its first frame was not recorded",
    "incomplete": "the recording ends before it",
    "overflow": "refused by the receiver: overflow",
}
_NO_MORE = "no consecutive frame followed within N_Cr"


def text_of(item: Conversation | DoipMessage | StreamLoss, found: Found, *, raw: bool = False) -> str:
    """Return the lines of one item; `found` is what the recording's reading found.

    `raw` shows every byte of a message.
    """
    most = 1 << 32 if raw else _SHOWN_BYTES
    if isinstance(item, DoipMessage):
        return _doip(item, most)
    if isinstance(item, StreamLoss):
        said = [f"{counted(item.missing, 'byte')} missing"] if item.missing else []
        said += [f"message cut off: {_bytes(item.rest, most)}"] if item.rest else []
        return f"{time_text(item.time_ns)}  {item.source} > {item.target}  LOST  {', '.join(said)}"
    lines = []
    start_ns = item.first_ns
    asked = None
    if item.request is not None:
        asked = item.request.payload
        start_ns = item.request.last_ns
        when = time_text(item.request.first_ns)
        lines.append(_line(when, item.request, describe_request(asked, [one.payload for one in item.answers]), most))
    parts: list[Message | Lost] = sorted((*item.answers, *item.lost), key=lambda part: part.last_ns)
    for at, part in enumerate(parts):
        when = f"+{(part.last_ns - start_ns) / 1e6:.1f} ms"
        if NO_TIME_NS in (start_ns, part.last_ns):
            when = _UNTIMED
        elif item.request is None and at == 0:
            when = time_text(part.first_ns)
        lines.append(_line(when, part, _meaning(part, asked, found), most))
    if item.request is not None and not parts:
        silence = "no answer, none wanted" if item.suppressed else "no answer recorded"
        lines.append(f"{'':>27}  {'':<5} {'':<9}  {silence}")
    return "\n".join(lines)


def time_text(time_ns: int) -> str:
    """Return a time as UTC date where it can be one, else as the recording's own seconds."""
    if time_ns == NO_TIME_NS:
        return _UNTIMED
    if time_ns >= _A_DATE_NS:
        moment = datetime.fromtimestamp(time_ns // 1_000_000_000, UTC)
        return f"{moment:%Y-%m-%d %H:%M:%S}.{time_ns % 1_000_000_000 // 1000:06d}Z"
    return f"{time_ns // 1_000_000_000}.{time_ns % 1_000_000_000 // 1000:06d}"


def type_name(payload_type: int) -> str:
    """Return the name of a DoIP payload type in words, or `unknown payload type`."""
    return _TYPES.get(payload_type, "unknown payload type")


def _meaning(part: Message | Lost, asked: bytes | None, found: Found) -> str:
    if isinstance(part, Message):
        remark = why_alone(part, found) if asked is None else mismatch(part, asked)
        return describe(part.payload, asked) + (f" ({remark})" if remark else "")
    return f"LOST: {_why_lost(part)}"


def _why_lost(lost: Lost) -> str:
    why = _NO_MORE if lost.reason == "gap" and not lost.after else _LOSSES[lost.reason]
    heard = counted(frames_heard(lost), "frame")
    return f"{why}; {heard} heard, {frames_missing(lost)} missing" if lost.length else f"{why}; {heard} of it heard"


def _line(when: str, part: Message | Lost, meaning: str, most: int) -> str:
    line = line_of(part)
    payload = part.payload if isinstance(part, Message) else begun(part)
    return f"{when:>27}  {line.channel:<5} {line.name:<9}  {meaning}  [{_bytes(payload, most)}]"


def _bytes(data: bytes, most: int) -> str:
    shown = data[:most].hex(" ").upper()
    return shown if len(data) <= most else f"{shown} ... {len(data)} bytes"


def _doip(item: DoipMessage, most: int) -> str:
    what = f"{item.payload_type:04X} {type_name(item.payload_type)}"
    if item.refused:
        what += f", against the standard: {_REFUSALS.get(item.refused, item.refused)}"
    elif item.payload is not None:
        details = [_field(item.payload, field.name) for field in dataclasses.fields(item.payload)]
        what += "".join(f", {detail}" for detail in details if detail)
    return f"{time_text(item.time_ns)}  {item.source} > {item.target}  DoIP {what}  [{_bytes(item.raw, most)}]"


def _field(payload: doip.Payload, name: str) -> str:
    value = getattr(payload, name)
    if value is None or name == "payload_type":
        return ""
    if isinstance(value, bytes):
        readable = name == "vin" and all(0x20 < byte < 0x7F for byte in value)
        return f"{_words(name)} {value.decode('ascii') if readable else value.hex(' ').upper()}" if value else ""
    said = _CODES.get(type(payload), {}).get(value) if name in ("code", "mode") else None
    if isinstance(payload, doip.RoutingActivationRequest) and name == "activation_type":
        said = doip.ACTIVATION_TYPES.get(value)
    return f"{_words(name)} 0x{value:02X}" + (f" {said}" if said else "")


def _words(name: str) -> str:
    return name.replace("_", " ")

"""Conversations and DoIP messages as JSON, one object a line.

Times are decimal strings of nanoseconds since the recording's zero (1970 in most), because a JSON number cannot hold
them; `after_ms` counts from the end of the request. Bytes are hex.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import msgspec

from witnessmark.recording.conversation import (
    Conversation,
    begun,
    frames_heard,
    frames_missing,
    line_of,
    read_head,
    read_request,
)
from witnessmark.recording.doip import DoipMessage, StreamLoss
from witnessmark.recording.finding import Found
from witnessmark.recording.line import NO_TIME_NS
from witnessmark.recording.meaning import describe, describe_request
from witnessmark.recording.remarks import mismatch, why_alone
from witnessmark.wire.isotp.passive import Lost, Message


def json_line(item: Conversation | DoipMessage | StreamLoss, found: Found) -> str:
    """Return one item as one line of JSON; `found` is what the recording's reading found. A time that was not recorded
    is null."""
    if isinstance(item, DoipMessage):
        return _encode(_doip(item))
    if isinstance(item, StreamLoss):
        return _encode(_stream_loss(item))
    return _encode(_conversation(item, found))


def _encode(values: dict[str, Any]) -> str:
    return msgspec.json.encode(values).decode("utf-8")


def _conversation(one: Conversation, found: Found) -> dict[str, Any]:
    asked = one.request.payload if one.request is not None else None
    start_ns = one.request.last_ns if one.request is not None else one.first_ns
    values = {
        "kind": "conversation",
        "channel": line_of(one.parts()[0]).channel,
        "functional": one.functional,
        "suppressed": one.suppressed,
        "request": None if one.request is None else _request(one),
        "answers": [_message(answer, asked, start_ns) for answer in one.answers],
        "pending": one.pending,
        "lost": [_lost(lost, start_ns) for lost in one.lost],
        "frames_lost": one.frames_lost,
    }
    if asked is None and one.answers:
        values["without_request"] = why_alone(one.answers[0], found)
    return values


def _speaker(part: Message | Lost) -> dict[str, Any]:
    line = line_of(part)
    if line.width == 32:
        return {
            "doip_type": "8001",
            "source": f"{line.number >> 16:04X}",
            "target": f"{line.number & 0xFFFF:04X}",
        }
    values: dict[str, Any] = {"id": line._replace(ext=None).name, "bits": line.width}
    if line.ext is not None:
        values["address_byte"] = f"{line.ext:02X}"
    return values


def _request(one: Conversation) -> dict[str, Any]:
    assert one.request is not None
    text = describe_request(one.request.payload, [answer.payload for answer in one.answers])
    return _message(one.request, None, None) | {"text": text}


def _message(part: Message, asked: bytes | None, start_ns: int | None) -> dict[str, Any]:
    facts = read_request(part.payload) if start_ns is None else read_head(part.payload)
    values = _speaker(part) | {"first_ns": _ns(part.first_ns), "last_ns": _ns(part.last_ns)}
    if start_ns is not None:
        values["after_ms"] = _after_ms(part, start_ns)
    values |= {
        "frames": len(part.frames),
        "data": part.payload.hex(),
        "service": None if facts.service < 0 else f"{facts.service:02X}",
        "sub_function": None if facts.sub_function is None else f"{facts.sub_function:02X}",
        "identifier": None if facts.identifier is None else f"{facts.identifier:04X}",
    }
    if start_ns is not None:
        values["response_code"] = None if facts.response_code is None else f"{facts.response_code:02X}"
    if start_ns is not None:
        values["text"] = describe(part.payload, asked)
    if asked is not None and (remark := mismatch(part, asked)):
        values["remark"] = remark
    return values


def _ns(time_ns: int) -> str | None:
    return None if time_ns == NO_TIME_NS else str(time_ns)


def _after_ms(part: Message | Lost, start_ns: int) -> float | None:
    return None if NO_TIME_NS in (part.last_ns, start_ns) else round((part.last_ns - start_ns) / 1e6, 6)


def _lost(lost: Lost, start_ns: int) -> dict[str, Any]:
    return _speaker(lost) | {
        "first_ns": _ns(lost.first_ns),
        "last_ns": _ns(lost.last_ns),
        "after_ms": _after_ms(lost, start_ns),
        "reason": lost.reason,
        "bytes_announced": lost.length,
        "frames_heard": frames_heard(lost),
        "frames_missing": frames_missing(lost),
        "data_begun": begun(lost).hex(),
    }


def _doip(one: DoipMessage) -> dict[str, Any]:
    from witnessmark.cli.decode.text import type_name

    fields: dict[str, Any] = {}
    if one.payload is not None:
        for field in dataclasses.fields(one.payload):
            value = getattr(one.payload, field.name)
            fields[field.name] = value.hex() if isinstance(value, bytes) else value
    return {
        "kind": "doip",
        "time_ns": str(one.time_ns),
        "source": one.source,
        "target": one.target,
        "over": one.over,
        "version": one.version,
        "type": f"{one.payload_type:04X}",
        "name": type_name(one.payload_type),
        "fields": fields,
        "refused": one.refused or None,
        "data": one.raw.hex(),
    }


def _stream_loss(one: StreamLoss) -> dict[str, Any]:
    return {
        "kind": "lost",
        "time_ns": str(one.time_ns),
        "source": one.source,
        "target": one.target,
        "bytes_missing": one.missing,
        "data_begun": one.rest.hex(),
    }

"""A message's parameters as a construct layout: read with a reason when cut off, and built back from the same text.

A layout is fixed parameters, then either records that repeat to the end or one open-ended tail. Parameters from
`optional` on may be absent. Values flow in and out by the parameter's name; bytes that fit nowhere stay raw.
construct declares, measures and builds; it also parses what has a length that depends on an earlier parameter. Fixed
parameters are read straight from their place: that takes about half the time of construct's compiled code, and saves
its millisecond at first use. No parameter may be called `data`: construct uses that word itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

import construct

from witnessmark.wire.meaning import Problem

Part = tuple[str, bytes, Any]
"""One parameter as read: name, its bytes, its value."""
Span = tuple[str, int, int, Callable[[bytes], Any]]
"""A fixed parameter: name, first byte, byte behind it, how its bytes become its value."""


class Layout:
    """The parameters behind a service's first byte."""

    def __init__(self, *fields: Any, optional: int | None = None, records: Sequence[Any] = (), tail: str = "") -> None:
        """Describe a message: construct fields with names, how many must be there, what repeats, what is left open."""
        self.fields = fields
        self.required = len(fields) if optional is None else optional
        self.records = tuple(records)
        self.tail = tail

    @cached_property
    def _spans(self) -> tuple[Span, ...] | None:
        return _spans(self.fields)

    @cached_property
    def _record_spans(self) -> tuple[Span, ...]:
        spans = _spans(self.records)
        assert spans is not None, "records have fixed lengths"
        return spans

    def read(self, body: bytes) -> tuple[list[Part], bytes, Problem]:
        """Read the bytes behind the service: the parameters, the bytes that fit nowhere, and what is wrong."""
        spans = self._spans
        end = spans[-1][2] if spans else 0
        if spans is not None and len(body) >= end:
            parts = [(name, body[start:stop], value(body[start:stop])) for name, start, stop, value in spans]
            return self._open_end(parts, body, end)
        parts = []
        at = 0
        for field in self._walk(body):
            parts.append(field)
            at += len(field[1])
        if len(parts) == len(self.fields):
            return self._open_end(parts, body, at)
        whole = len(parts) >= self.required and at == len(body)
        return parts, body[at:], "" if whole else "short"

    def _walk(self, body: bytes) -> Iterator[Part]:
        at = 0
        seen: dict[str, Any] = {}
        for field in self.fields:
            try:
                size = field.sizeof(**seen)
                value = field.parse(body[at:], **seen)
            except construct.StreamError:
                return
            seen[field.name] = value
            yield field.name, body[at : at + size], value
            at += size

    def _open_end(self, parts: list[Part], body: bytes, at: int) -> tuple[list[Part], bytes, Problem]:
        if self.records:
            spans = self._record_spans
            size = spans[-1][2]
            while at + size <= len(body):
                record = body[at : at + size]
                parts += [(name, record[start:stop], value(record[start:stop])) for name, start, stop, value in spans]
                at += size
            return parts, body[at:], "short" if at < len(body) else ""
        if self.tail:
            if at < len(body):
                parts.append((self.tail, body[at:], body[at:]))
            return parts, b"", ""
        return parts, body[at:], "long" if at < len(body) else ""

    def build(
        self, values: Mapping[str, Any] | None = None, *, records: Sequence[Mapping[str, Any]] = (), tail: bytes = b""
    ) -> bytes:
        """Build the bytes behind the service. Parameters that are not given must be optional ones at the end."""
        given = values or {}
        present = [field for at, field in enumerate(self.fields) if at < self.required or field.name in given]
        body: bytes = construct.Struct(*present).build(dict(given))
        if records:
            record = construct.Struct(*self.records)
            body += b"".join(record.build(dict(one)) for one in records)
        return body + tail


def _spans(fields: Sequence[Any]) -> tuple[Span, ...] | None:
    """Where each parameter stands and how it is read, or None where a length depends on an earlier parameter."""
    spans = []
    at = 0
    for field in fields:
        try:
            size = field.sizeof()
        except construct.SizeofError:
            return None
        spans.append((field.name, at, at + size, _value_of(field, size)))
        at += size
    return tuple(spans)


def _value_of(field: Any, size: int) -> Callable[[bytes], Any]:
    """Find out how a fixed parameter is read by asking construct: raw bytes, or a number with or without a sign."""
    probe = field.parse(b"\xff" * size)
    if isinstance(probe, bytes):
        return bytes
    return _signed if probe < 0 else _unsigned


def _unsigned(raw: bytes) -> int:
    return int.from_bytes(raw, "big")


def _signed(raw: bytes) -> int:
    return int.from_bytes(raw, "big", signed=True)

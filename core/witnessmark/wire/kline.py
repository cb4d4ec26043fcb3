"""K-line messages: headers, lengths and checksums of ISO 14230-2 and of the exception form that ISO 9141-2 uses.

In: bytes as they come from the line, in any chunks, and the news that the line has been idle. Out: `Message` for what
is right, `Broken` for what is not, each with its raw bytes. Rules: the format byte says whether addresses follow (bits
7-6: 00 none, 01 exception form, 10 physical, 11 functional) and how long the data is (bits 5-0, 0: a length byte
follows); the last byte is the sum of all before it, modulo 256. The exception form has no length, so only the idle line
ends it. When messages come and what they mean is not decided here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from witnessmark.errors import LocalError, PeerError

Form = Literal["none", "exception", "physical", "functional"]
"""What the two top bits of the format byte say about addresses."""

FORMS: tuple[Form, ...] = ("none", "exception", "physical", "functional")
SHORTEST_EXCEPTION = 5  # three header bytes, one of data, the sum
LONGEST_EXCEPTION = 11  # ISO 9141-2: at most seven bytes of data (from memory)


@dataclass(frozen=True, slots=True)
class Message:
    """One message whose sum is right. `target` and `source` are None in the form without addresses.

    In the exception form `format` tells request (68) from answer (48). `raw` is all of it.
    """

    format: int
    target: int | None
    source: int | None
    data: bytes
    raw: bytes

    @property
    def form(self) -> Form:
        """What the header says about addresses."""
        return FORMS[self.format >> 6]


@dataclass(frozen=True, slots=True)
class Broken:
    """Bytes that are no message: `checksum`, `length_zero`, `incomplete` or `exception_length`."""

    reason: str
    raw: bytes


def checksum(data: bytes) -> int:
    """Return the sum of all bytes modulo 256 (ISO 14230-2, 4.3)."""
    return sum(data) & 0xFF


def encode(
    data: bytes,
    *,
    target: int | None = None,
    source: int | None = None,
    functional: bool = False,
    length_byte: bool = False,
) -> bytes:
    """Return the whole message of ISO 14230-2 with `data`, 1 to 255 bytes.

    With both addresses or with neither; a length byte where asked for and above 63 bytes. Raises LocalError otherwise.
    """
    if not 1 <= len(data) <= 255:
        raise LocalError(f"a K-line message of {len(data)} bytes", hint="send between 1 and 255 bytes")
    if (target is None) != (source is None) or (functional and target is None):
        raise LocalError("a K-line header with half an address", hint="give both target and source")
    separate = length_byte or len(data) > 63
    form: Form = "none" if target is None else "functional" if functional else "physical"
    head = [FORMS.index(form) << 6 | (0 if separate else len(data))]
    if target is not None and source is not None:
        head += [_byte(target), _byte(source)]
    if separate:
        head.append(len(data))
    return _with_sum(bytes(head) + data)


def encode_exception(header: int, target: int, source: int, data: bytes) -> bytes:
    """Return a message of the exception form (ISO 9141-2: request `68 6A F1`, answer `48 6B` and the unit's address).

    Raises LocalError for another form's format byte and for more than 7 data bytes or none.
    """
    if FORMS[_byte(header) >> 6] != "exception" or not 1 <= len(data) <= 7:
        raise LocalError(
            f"no ISO 9141-2 message {header:#x} with {len(data)} bytes", hint="use 68 or 48, and 1 to 7 bytes"
        )
    return _with_sum(bytes((header, _byte(target), _byte(source))) + data)


def _with_sum(message: bytes) -> bytes:
    return message + bytes((checksum(message),))


def _byte(value: int) -> int:
    if not 0 <= value <= 0xFF:
        raise LocalError(f"{value:#x} is not a byte", hint="K-line addresses are bytes")
    return value


def decode(raw: bytes) -> Message:
    """Return the one message in `raw`. Raises PeerError with a reason of `Broken`, or `trailing` for bytes after it."""
    stream = Stream()
    found = [*stream.feed(raw), *stream.idle()]
    first = found[0] if found else Broken("incomplete", raw)
    if isinstance(first, Broken):
        raise PeerError(f"K-line message: {first.reason}", reason=first.reason, raw=raw)
    if first.raw != raw:
        raise PeerError("bytes after the K-line message", reason="trailing", raw=raw)
    return first


class Stream:
    """The bytes of the line, in any chunks, to messages.

    Call `idle` when no byte came for longer than a sender may pause inside a message: it ends what is not complete, so
    that a disturbed message cannot shift the reading of the next.
    """

    def __init__(self) -> None:
        self._rest = b""

    @property
    def rest(self) -> bytes:
        """The bytes of a message that is not complete yet."""
        return self._rest

    def feed(self, data: bytes) -> list[Message | Broken]:
        """Let bytes in; return what is complete now, in order. Never raises."""
        self._rest += data
        found: list[Message | Broken] = []
        while self._rest:
            size = _size(self._rest)
            if size is None or len(self._rest) < size:
                break
            raw, self._rest = self._rest[:size], self._rest[size:]
            found.append(_read(raw))
        return found

    def idle(self) -> list[Message | Broken]:
        """Take the line as idle; return what the bytes held so far come to."""
        raw, self._rest = self._rest, b""
        if not raw:
            return []
        if FORMS[raw[0] >> 6] != "exception":
            return [Broken("incomplete", raw)]
        if not SHORTEST_EXCEPTION <= len(raw) <= LONGEST_EXCEPTION:
            return [Broken("exception_length", raw)]
        return [_read(raw)]


def _size(raw: bytes) -> int | None:
    """How long the message at the start of `raw` is, or None while nothing says so."""
    form = FORMS[raw[0] >> 6]
    if form == "exception":
        return None
    addresses = 0 if form == "none" else 2
    length = raw[0] & 0x3F
    if length:
        return 1 + addresses + length + 1
    at = 1 + addresses
    return at + 1 + raw[at] + 1 if len(raw) > at else None


def _read(raw: bytes) -> Message | Broken:
    form = FORMS[raw[0] >> 6]
    start = 1 if form == "none" else 3
    if form != "exception" and not raw[0] & 0x3F:
        start += 1
    if checksum(raw[:-1]) != raw[-1]:
        return Broken("checksum", raw)
    data = raw[start:-1]
    if not data:
        return Broken("length_zero", raw)
    target, source = (None, None) if form == "none" else (raw[1], raw[2])
    return Message(raw[0], target, source, data, raw)


@dataclass(frozen=True, slots=True)
class KeyBytes:
    """Which headers a control unit understands, as its key bytes say (ISO 14230-2, 5.2.4.1; bits from memory)."""

    length_in_format: bool
    length_byte: bool
    without_addresses: bool
    with_addresses: bool
    normal_timing: bool


def read_key_bytes(first: int, second: int) -> KeyBytes | None:
    """Return what two key bytes say, in either order, or None when they are not of ISO 14230 (neither is 8F)."""
    if 0x8F not in (first, second):
        return None
    low = first if second == 0x8F else second
    return KeyBytes(bool(low & 1), bool(low & 2), bool(low & 4), bool(low & 8), low & 0x30 == 0x20)

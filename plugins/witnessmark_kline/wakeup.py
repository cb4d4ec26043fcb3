"""Waking a control unit: fast and 5-baud initialisation (ISO 14230-2, 5.2.4; ISO 9141-2 for the other key bytes).

In: the line and the unit's address. Out: what it told of itself. Rules: the line has been quiet for W5 before; a unit
that does not answer, or answers wrong, ends it with a LinkError that says at which step; nothing is tried again by
itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from witnessmark.plugin import LinkError
from witnessmark.wire import kline
from witnessmark_kline.speech import Speech
from witnessmark_kline.timing import (
    BIT_S,
    HIGH_S,
    IDLE_BEFORE_S,
    LOW_S,
    P1_MOST_S,
    P2_MOST_S,
    W1_MOST_S,
    W2_MOST_S,
    W3_MOST_S,
    W4_LEAST_S,
    W4_MOST_S,
)

START, STARTED = 0x81, 0xC1
SYNCHRONISATION = 0x55

HeaderForm = Literal["addresses", "none", "exception"]


@dataclass(frozen=True, slots=True)
class Awake:
    """How a woken unit is spoken to. `key_bytes` as they came."""

    form: HeaderForm
    length_byte: bool = False
    key_bytes: tuple[int, int] | None = None
    raw: bytes = b""


def fast_init(speech: Speech, target: int, tester: int, functional: bool) -> Awake:
    """Wake by 25 ms low, 25 ms high and StartCommunication. Raises LinkError `no_answer` or `garbled`."""
    speech.wait_quiet(IDLE_BEFORE_S)
    speech.line.hold_low(LOW_S)
    speech.line.leave(HIGH_S)
    speech.discard()
    speech.say(kline.encode(bytes((START,)), target=target, source=tester, functional=functional))
    stream = kline.Stream()
    raw = b""
    wait_s = P2_MOST_S
    while (byte := speech.hear_one(wait_s)) is not None:
        wait_s = P1_MOST_S
        raw += bytes((byte,))
        for found in stream.feed(bytes((byte,))):
            if isinstance(found, kline.Message) and len(found.data) == 3 and found.data[0] == STARTED:
                return read_key_bytes(found.data[1], found.data[2], raw)
            raise _garbled(f"the answer to StartCommunication is {raw.hex(' ').upper()}")
    if raw:
        raise _garbled(f"the answer to StartCommunication ends after {raw.hex(' ').upper()}")
    raise _silent("nobody answers StartCommunication")


def five_baud_init(speech: Speech, target: int) -> Awake:
    """Wake by the address at 5 baud, 7 data bits and odd parity or 8 bits as the address is. Raises as `fast_init`."""
    speech.wait_quiet(IDLE_BEFORE_S)
    for level in _levels(target):
        if level:
            speech.line.leave(BIT_S)
        else:
            speech.line.hold_low(BIT_S)
    speech.discard()
    first = speech.hear_one(W1_MOST_S)
    if first is None:
        raise _silent(f"nobody answers the address {target:02X} at 5 baud")
    if first != SYNCHRONISATION:
        raise _garbled(f"the synchronisation byte came as {first:02X}, not 55")
    key1, key2 = speech.hear_one(W2_MOST_S), speech.hear_one(W3_MOST_S)
    if key1 is None or key2 is None:
        raise _silent("the key bytes do not come")
    speech.wait_quiet(W4_LEAST_S)
    speech.say(bytes((~key2 & 0xFF,)))
    last = speech.hear_one(W4_MOST_S)
    if last is None:
        raise _silent("the unit does not confirm its address")
    if last != ~target & 0xFF:
        raise _garbled(f"the unit confirms {~last & 0xFF:02X}, and {target:02X} was called")
    return read_key_bytes(key1, key2, bytes((first, key1, key2, last)))


def read_key_bytes(first: int, second: int, raw: bytes) -> Awake:
    """Choose the header by the key bytes: addresses where the unit understands them, the exception form without 8F."""
    known = kline.read_key_bytes(first, second)
    if known is None:
        return Awake("exception", key_bytes=(first, second), raw=raw)
    return Awake(
        "addresses" if known.with_addresses or not known.without_addresses else "none",
        length_byte=known.length_byte and not known.length_in_format,
        key_bytes=(first, second),
        raw=raw,
    )


def _levels(address: int) -> list[bool]:
    """The levels of one byte at 5 baud: start bit low, 8 bits from the least, stop bit high."""
    return [False, *(bool(address >> bit & 1) for bit in range(8)), True]


def _silent(what: str) -> LinkError:
    return LinkError(
        what,
        kind="no_answer",
        hint="switch the ignition on; check the unit's address and the kind of initialisation",
        reached="maybe",
    )


def _garbled(what: str) -> LinkError:
    return LinkError(
        what, kind="garbled", hint="check the baud rate, and that nobody else speaks on the line", reached="maybe"
    )

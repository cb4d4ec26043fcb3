"""The heads of many messages at once: payloads in, columns of service, sub-function, identifier, response code out.

Which bytes of a message mean what is asked of `wire.uds.head` itself, first byte by first byte, so the two cannot
differ.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from witnessmark.errors import PeerError
from witnessmark.wire.uds.head import head

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[Any]

NONE = -1


class Heads(NamedTuple):
    """One row a message; -1 where it has none. `service` is the request's number, -1 where none can be read."""

    service: Array
    is_response: Array
    negative: Array
    sub_function: Array
    suppress: Array
    identifier: Array
    response_code: Array


def read_heads(start: Array, size: Array, asks: Array | None = None) -> Heads:
    """Read the heads of messages from their first four bytes and their sizes; `asks` tells the rows of lines of which
    every message is a request (`recording.conversation.read_request`)."""
    heads = _read_heads(start, size)
    if asks is None:
        return heads
    odd = asks & (size > 0) & (heads.is_response | (heads.service < 0))
    if odd.any():
        heads.service[odd] = start[odd, 0]
        for column in (heads.is_response, heads.negative, heads.suppress):
            column[odd] = False
        for column in (heads.sub_function, heads.identifier, heads.response_code):
            column[odd] = NONE
    return heads


def _read_heads(start: Array, size: Array) -> Heads:
    import numpy as np

    first, second, third, fourth = (start[:, column].astype(np.int32) for column in range(4))
    negative = first == 0x7F
    readable = (size > 0) & ~(negative & (size < 3))
    response = (first & 0x40) != 0
    sub_from, identifier_from = _layout()
    has_sub = sub_from[first] & (size > 1)
    place = identifier_from[first]
    identifier = np.full(size.size, NONE, np.int32)
    for form, needed, value in ((1, 2, second), (2, 3, second << 8 | third), (3, 4, third << 8 | fourth)):
        where = (place == form) & (size >= needed)
        identifier[where] = value[where]
    return Heads(
        np.where(readable, np.where(negative, second, first & 0xBF), NONE),
        readable & response,
        readable & negative,
        np.where(has_sub, second & 0x7F, NONE),
        has_sub & ~response & (second >= 0x80),
        identifier,
        np.where(readable & negative, third, NONE),
    )


def _layout() -> tuple[Array, Array]:
    """For each first byte: whether a sub-function follows, and how the identifier stands (1: one byte behind the first,
    2: two bytes there, 3: two bytes behind the sub-function, 0: none)."""
    import numpy as np

    has_sub, place = np.zeros(256, np.bool_), np.zeros(256, np.uint8)
    forms = {0x11: 1, 0x1122: 2, 0x2233: 3}
    for first in range(256):
        try:
            facts = head(bytes((first, 0x11, 0x22, 0x33)))
        except PeerError:
            continue
        if not facts.negative:
            has_sub[first] = facts.sub_function is not None
            place[first] = 0 if facts.identifier is None else forms[facts.identifier]
    return has_sub, place

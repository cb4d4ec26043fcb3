"""One answer with several data records, told apart.

ReadDataByIdentifier answers many identifiers in one message and states no lengths (ISO 14229-1:2020, 11.2.3). Where the
identifiers asked for can be found in their order in exactly one way, each record is what stands between them.
"""

from __future__ import annotations

from collections.abc import Sequence

_NONE = -1
_SEVERAL = -2


def split_records(body: bytes, identifiers: Sequence[int]) -> list[tuple[int, bytes]] | None:
    """Split the bytes behind 0x62 into (identifier, record) pairs; a record has at least one byte.

    None where there is no way, or more than one: then nobody can know. Time grows with identifiers times bytes.
    """
    if len(body) < 3 or not identifiers or body[:2] != identifiers[0].to_bytes(2, "big"):
        return None
    ways: list[list[int]] = []
    for identifier in reversed(identifiers[1:]):
        ways.append(_places(body, identifier, ways[-1] if ways else None))
    starts = [0]
    for places in reversed(ways):
        start = places[starts[-1] + 3]
        if start < 0:
            return None
        starts.append(start)
    ends = [*starts[1:], len(body)]
    return [
        (identifier, body[start + 2 : end]) for identifier, start, end in zip(identifiers, starts, ends, strict=True)
    ]


def _places(body: bytes, identifier: int, later: Sequence[int] | None) -> list[int]:
    """For every place p: the one place from p on where this identifier and all later ones fit, or none, or several."""
    wanted = identifier.to_bytes(2, "big")
    found = [_NONE] * (len(body) + 1)
    for at in range(len(body) - 3, -1, -1):
        found[at] = found[at + 1]
        if body[at : at + 2] != wanted:
            continue
        beyond = at if later is None else later[at + 3]
        if beyond != _NONE:
            found[at] = _SEVERAL if beyond == _SEVERAL or found[at + 1] != _NONE else at
    return found

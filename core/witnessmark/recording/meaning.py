"""What a heard message means, in one line. Bytes that cannot be read say so; nothing here raises."""

from __future__ import annotations

from witnessmark.errors import PeerError


def describe(payload: bytes, request: bytes | None = None) -> str:
    """Say what a message means; `request` is what it answers."""
    from witnessmark.wire.uds.decode import describe as describe_uds

    try:
        return describe_uds(payload, request)
    except PeerError as error:
        return f"cannot be read: {error}"

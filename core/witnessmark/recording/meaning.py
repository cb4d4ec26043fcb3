"""What a heard message means, in one line. Bytes that cannot be read say so; nothing here raises."""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.errors import PeerError
from witnessmark.recording.conversation import read_request


def describe(payload: bytes, request: bytes | None = None) -> str:
    """Say what a message means; `request` is what it answers, None for a request itself or where it is not known."""
    from witnessmark.wire.uds.decode import describe as describe_uds

    try:
        return describe_uds(payload, request)
    except PeerError as error:
        return f"cannot be read: {error}"


def describe_request(payload: bytes, answers: Iterable[bytes] = ()) -> str:
    """Say what a request means, whatever number its service has. Its answers tell which standard a session is of."""
    from witnessmark.wire.kwp.decode import describe as describe_kwp
    from witnessmark.wire.meaning import hex_text
    from witnessmark.wire.uds.decode import is_kwp_session

    facts = read_request(payload)
    if facts.service & 0x40:
        return f"service 0x{facts.service:02X}" + (f": {hex_text(payload[1:])}" if len(payload) > 1 else "")
    if facts.suppress and facts.service == 0x10 and any(map(is_kwp_session, answers)):
        return describe_kwp(payload)
    return describe(payload)

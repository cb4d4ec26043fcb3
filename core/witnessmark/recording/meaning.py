"""What a heard message means, in one line. The message's service tells which standard to read it by.

ISO 14230-3 services that ISO 14229-1 does not have are read by the former; all others by the latter, which hands those
of ISO 15031-5 on. Bytes that cannot be read say so; nothing here raises.
"""

from __future__ import annotations

from witnessmark.errors import PeerError
from witnessmark.wire.kwp.services import SERVICES
from witnessmark.wire.uds.services import Service

_KWP_ONLY = frozenset(SERVICES) - frozenset(map(int, Service))


def describe(payload: bytes, request: bytes | None = None) -> str:
    """Say what a message means; `request` is what it answers."""
    from witnessmark.wire.kwp.decode import describe as describe_kwp
    from witnessmark.wire.uds.decode import describe as describe_uds

    negative = payload[:1] == b"\x7f" and len(payload) > 1
    service = payload[1] if negative else payload[0] & 0xBF if payload else 0
    try:
        return describe_kwp(payload) if service in _KWP_ONLY else describe_uds(payload, request)
    except PeerError as error:
        return f"cannot be read: {error}"

"""Each exchange with its bytes and what they mean.

An exchange of the timeline flows in, plain values flow out. Bytes that cannot be read are shown as they are, with the
reason; nothing is left out.
"""

from __future__ import annotations

from typing import Any

from witnessmark.audit.timeline import Exchange
from witnessmark.errors import PeerError
from witnessmark.report.times import Times
from witnessmark.wire.uds.decode import describe


def exchange(one: Exchange, times: Times) -> dict[str, Any]:
    """Return request and answers: time, bytes spaced in pairs, meaning."""
    body = one.body
    request = bytes.fromhex(body.request)
    sent = int(body.sent_mono) if body.sent_mono else None
    answers = [
        {
            "source": answer.source,
            "after_ms": None if sent is None else round((int(answer.last_mono) - sent) / 1_000_000),
            "bytes": spaced(answer.payload),
            "meaning": meaning(bytes.fromhex(answer.payload), request),
            "verdict": answer.verdict,
        }
        for answer in body.answers
    ]
    return {
        "seq": one.seq,
        "at": times.clock(one.at),
        "at_ms": times.ms(one.at),
        "purpose": body.purpose,
        "pass": body.pass_id,
        "peer": dict(body.peer),
        "bytes": spaced(body.request),
        "meaning": meaning(request, None),
        "result": body.result,
        "code": body.code,
        "shows_pending": body.shows_pending,
        "answers": answers,
    }


def meaning(payload: bytes, request: bytes | None) -> str:
    """Return what the bytes mean in a line, or why they mean nothing."""
    if not payload:
        return "no bytes"
    try:
        return describe(payload, request)
    except PeerError as error:
        return f"cannot be read: {error}"


def spaced(text: str) -> str:
    """Return hex text in pairs: `31 01 03 01`."""
    return " ".join(text[at : at + 2] for at in range(0, len(text), 2)).upper()

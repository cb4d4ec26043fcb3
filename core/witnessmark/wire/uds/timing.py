"""Times of the session layer: the standard's own, and those a control unit states in its session answer.

Source: ISO 14229-2:2021, clause 8 (P2, P2*, S3); ISO 14229-1:2020, clause 10.2 (sessionParameterRecord).
"""

from __future__ import annotations

from witnessmark.errors import PeerError

P2_S = 0.050
"""P2Server_max of the default session: the server answers, or sends 0x78, within it."""
P2_STAR_S = 5.0
"""P2*Server_max: after each 0x78 the next answer comes within it."""
S3_SERVER_S = 5.0
"""S3Server: without any request for so long, a non-default session ends by itself."""
TESTER_PRESENT_S = 2.0
"""S3Client, functional tester present: the interval that keeps a session, well inside S3Server."""


def session_timing(answer_payload: bytes) -> tuple[float, float]:
    """Read P2 and P2* in seconds from a positive DiagnosticSessionControl answer (1 ms and 10 ms units on the wire).

    Raises PeerError with reason `not_a_session_answer`, or `no_timing` where the record is absent (as units built to
    edition 2006 may answer) or the session is one of ISO 14230-3, which has bit 7 set and states no times in this form:
    the standard's own times hold then.
    """
    if answer_payload[:1] != b"\x50":
        raise PeerError("Not a positive session answer.", reason="not_a_session_answer", raw=bytes(answer_payload))
    if len(answer_payload) < 6 or answer_payload[1] >= 0x80:
        raise PeerError("The session answer states no timing.", reason="no_timing", raw=bytes(answer_payload))
    p2_ms = int.from_bytes(answer_payload[2:4], "big")
    p2_star_10ms = int.from_bytes(answer_payload[4:6], "big")
    return p2_ms / 1000, p2_star_10ms / 100

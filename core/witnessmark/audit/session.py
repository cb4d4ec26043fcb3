"""How long a session lives without a sign of life: the control unit's own S3, else the standard's."""

from __future__ import annotations

from witnessmark.audit.case import Case

S3_MS = 5000
"""S3 of the server, ISO 14229-2."""


def s3_ns(case: Case) -> int:
    """Return S3 in ns, as the job's map gives it."""
    timing = (case.opened.map or {}).get("timing", {})
    return int(timing.get("s3_ms", S3_MS)) * 1_000_000

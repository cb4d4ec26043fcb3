"""How long a session lives without a sign of life, and whether a start says how long to run.

The map of a control unit flows in, as the record has it. Rule that holds here: what it does not say so that it can be
read is not said: S3 is the standard's then.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

S3_MS = 5000
"""S3 of the server, ISO 14229-2."""
SECONDS = "{seconds}"
"""The hole in a wire command's start by which the control unit is told how long."""


def s3_ns(unit: Mapping[str, Any] | None) -> int:
    """Return S3 in ns, as the job's map of the control unit gives it."""
    timing = (unit or {}).get("timing")
    s3_ms = timing.get("s3_ms") if isinstance(timing, Mapping) else None
    return (s3_ms if isinstance(s3_ms, int) else S3_MS) * 1_000_000


def says_seconds(unit: Mapping[str, Any], wire_command: str) -> bool:
    """Say whether the start of a wire command tells the control unit for how many seconds."""
    commands = unit.get("wire_commands")
    known = (one for one in commands if isinstance(one, Mapping)) if isinstance(commands, list | tuple) else ()
    return any(one.get("id") == wire_command and SECONDS in str(one.get("start")) for one in known)

"""Faults of the practice truck that can be switched on, and when they strike.

Written `NAME`, `NAME@3` (with the third run of a wire command) or `NAME@3+1.5` (1.5 s after it began).

    refusal       the next start is refused               late-answer   the next start acts, its answer is 1.5 s late
    silent        the control unit answers nothing        stop-ignored  a stop request is neither obeyed nor answered
    dies          the control unit loses its supply during the run
    unplugged     the adapter is pulled off               garbled       the next line heard cannot be read
    prompt-lost   one prompt of the adapter is missing    low-voltage   the supply is weak, until it is put on anew
    none          everything is well again, and plugged in
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from witnessmark.errors import InputError

AT_START = ("refusal", "late-answer", "silent", "stop-ignored", "low-voltage")
DURING = ("dies", "unplugged", "garbled", "prompt-lost")
NAMES = (*AT_START, *DURING, "none")
INTO_RUN_S = 2.0
_FORM = re.compile(r"([a-z-]+)(?:@([1-9]\d{0,3})(?:\+(\d+(?:\.\d+)?))?)?\Z")


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault and the run it belongs to (counted from 1; None: now), and how far into that run it strikes."""

    name: str
    run: int | None = None
    into_s: float = INTO_RUN_S


def parse_fault(text: str) -> Fault:
    """Read a fault. Raises InputError that says what was expected."""
    found = _FORM.match(text)
    if found is None or found[1] not in NAMES:
        raise InputError(
            f"{text!r} is not a fault",
            place="fault",
            hint=f"write NAME, NAME@3 or NAME@3+1.5; names: {', '.join(NAMES)}",
        )
    into_s = INTO_RUN_S if found[3] is None else float(found[3])
    return Fault(found[1], int(found[2]) if found[2] else None, into_s)

"""Messages that their receiver refused: what was lost and the flow control heard flow in, better reasons flow out.

Rule: a message of which only the first frame was heard was refused when flow control with the status overflow (ISO
15765-2:2016, 9.6.5.2) was heard on a line it is answered by, or asked from, within N_Bs of that frame.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from witnessmark.recording.conversation import line_of
from witnessmark.recording.finding import Found
from witnessmark.recording.line import Line, standard_partner
from witnessmark.wire.isotp.passive import Lost, Message
from witnessmark.wire.isotp.pdu import OVERFLOW

N_BS_NS = 1_000_000_000
"""How long a sender waits for flow control (ISO 15765-2:2016, 9.8.2)."""

OVERFLOW_BYTE = 0x30 | OVERFLOW
"""The protocol byte of such flow control, which has three bytes at least."""

Overflows = Mapping[Line, Sequence[int]]
"""When such flow control was heard on each line, in ns."""


def says_overflow(data: bytes, ext: bool) -> bool:
    """Say whether a frame is flow control with the status overflow."""
    at = 1 if ext else 0
    return len(data) >= at + 3 and data[at] == OVERFLOW_BYTE


def with_refusal(part: Message | Lost, overflows: Overflows, found: Found) -> Message | Lost:
    """Return a lost message with the reason `overflow` where its receiver refused it, anything else as it is."""
    if not overflows or isinstance(part, Message) or not part.length or len(part.frames) > 1 or part.after:
        return part
    for line in _partners(line_of(part), found):
        if any(0 <= heard_ns - part.first_ns <= N_BS_NS for heard_ns in overflows.get(line, ())):
            return replace(part, reason="overflow")
    return part


def _partners(line: Line, found: Found) -> set[Line]:
    partners = {*found.requesters.get(line, ()), *(one for one, known in found.requesters.items() if line in known)}
    partner = standard_partner(line)
    return partners if partner is None else partners | {partner}

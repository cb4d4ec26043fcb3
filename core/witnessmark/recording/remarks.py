"""What a person is told about one message of a recording beside its meaning: a reading and a message flow in, words
out.

Nothing is claimed that was not heard: a request that came too early to count, or whose identifier was set aside, was
recorded all the same.
"""

from __future__ import annotations

from witnessmark.recording.conversation import line_of, read_head
from witnessmark.recording.finding import Found
from witnessmark.recording.line import standard_partner
from witnessmark.recording.pairing import WINDOW_NS, asked_for, differs
from witnessmark.wire.isotp.passive import Message


def why_alone(answer: Message, found: Found) -> str:
    """Say why an answer stands without a request."""
    line = line_of(answer)
    partner = standard_partner(line)
    if found.requesters.get(line):
        return f"no request for it within {WINDOW_NS // 1_000_000_000} s before it"
    if partner is not None and any(partner == one for one, _ in found.aside):
        return f"{partner.name}, which may have asked, was set aside"
    return "its request was not recorded"


def mismatch(answer: Message, request: bytes) -> str:
    """Say that an answer is for another identifier than its request; nothing where it is not."""
    facts = read_head(answer.payload)
    return "answers another identifier" if differs(facts, asked_for(request)) else ""

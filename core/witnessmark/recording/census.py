"""What is counted of each line before anybody decides whether it carries diagnostics. See `finding` for the rules.

The plain reading and the bulk reading each make these; `finding` cannot tell which.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from witnessmark.recording.line import Line


@dataclass(slots=True)
class Census:
    """One line. `refused`: frames that no receiver would take; `spoken`: whole messages that begin as a service does,
    `asked`: those of them that are requests; `segmented`: whole messages of several frames, `inside`: their frames;
    `begun`: lost messages whose first frame was heard and begins as a service does."""

    frames: int = 0
    refused: int = 0
    whole: int = 0
    spoken: int = 0
    asked: int = 0
    segmented: int = 0
    inside: int = 0
    begun: int = 0
    begun_asked: int = 0


class Utterance(NamedTuple):
    """The beginning of one message: `told` is its place in the order of telling, `start` its first bytes (up to 4)."""

    told: int
    start: bytes
    first_ns: int
    last_ns: int
    whole: bool


Sample = Callable[[Line, int], Sequence[Utterance]]
"""Gives up to so many utterances of a line, from its first on. Lost messages without a first frame are left out."""

_REQUESTS = frozenset((*range(0x01, 0x0B), *range(0x10, 0x3F), *range(0x80, 0x89), *range(0xBA, 0xBF)))
_NEGATIVE = 0x7F


def _spoken(first: int) -> int:
    """0: no service; 1: a request; 2: an answer."""
    if first in _REQUESTS:
        return 1
    return 2 if first & 0x40 and first & 0xBF in _REQUESTS else 0


SPOKEN = bytes(_spoken(first) for first in range(256))
"""For each first byte of a message: 0 no service of ISO 14229-1, 14230-3 or 15031-5, 1 a request, 2 a positive answer
(0x7F is not among them: see `speaks`)."""


def speaks(payload: bytes) -> int:
    """Say whether a message begins as a service does: 0 no, 1 a request, 2 an answer. Any number may be refused."""
    if not payload:
        return 0
    if payload[0] == _NEGATIVE:
        return 2 if len(payload) >= 3 else 0
    return SPOKEN[payload[0]]

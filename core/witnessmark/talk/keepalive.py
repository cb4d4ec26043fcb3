"""The schedule of keeping a session: by what request, when the next is due, and what gaps there were.

Sans-IO: the loop that owns the wire asks `due_ns` and says `left` for each one sent, so that it cannot clash with a
request. By default the positive answer is suppressed (3E 80; ISO 14229-1:2020, 10.7). Units of ISO 14230-3 know 3E 01
with and 3E 02 without an answer, and ISO 9141-2 has none: there any request keeps the link, as service 01 (both from
memory). Rules that hold here: nothing but these is ever sent to keep a session; the positive answer that one asks for
is taken as its own, any other answer is not; one that did not leave is tried again, but not at once.
"""

from __future__ import annotations

import itertools

from witnessmark.clock import NS
from witnessmark.errors import LocalError
from witnessmark.link.frame import Message, Peer
from witnessmark.wire.kwp.messages import tester_present as kwp_tester_present
from witnessmark.wire.uds.requests import TESTER_PRESENT
from witnessmark.wire.uds.timing import TESTER_PRESENT_S

KWP_TESTER_PRESENT = kwp_tester_present()
KWP_WITHOUT_ANSWER = kwp_tester_present(answer=False)
CURRENT_DATA = b"\x01\x00"
"""Service 01 of ISO 15031-5, identifier 00: which identifiers are supported. It reads and changes nothing."""
REQUESTS = (TESTER_PRESENT, b"\x3e\x00", KWP_TESTER_PRESENT, KWP_WITHOUT_ANSWER, b"\x3e", CURRENT_DATA)
_WITHOUT_ANSWER = (TESTER_PRESENT, KWP_WITHOUT_ANSWER)

EARLY_S = 0.1
"""How much before the standard's time one is sent, so that a busy machine does not stretch the gap beyond it."""
AGAIN_S = 0.25
"""How long after one that did not leave the next is tried."""


class KeepAlive:
    """One stretch of keeping a session. `moments` are the monotonic ns at which one left, `answers` how many answers.

    `interval_s` is never more than `most_s`. Raises LocalError for a request that is not one of REQUESTS.
    """

    def __init__(
        self, peer: Peer, start_ns: int, request: bytes = TESTER_PRESENT, most_s: float = TESTER_PRESENT_S
    ) -> None:
        if request not in REQUESTS:
            raise LocalError(
                f"{request.hex(' ').upper()} is no request that keeps a session", hint="use 3E80, 3E01, 3E02 or 0100"
            )
        self.peer = peer
        self.start_ns = start_ns
        self.request = request
        self.moments: list[int] = []
        self.answers = 0
        self.interval_s = min(TESTER_PRESENT_S - EARLY_S, most_s)
        self._failed_ns: int | None = None

    def due_ns(self) -> int:
        """When the next one is due: an interval after the last, the first an interval after the start."""
        due_ns = (self.moments[-1] if self.moments else self.start_ns) + round(self.interval_s * NS)
        return due_ns if self._failed_ns is None else max(due_ns, self._failed_ns + round(AGAIN_S * NS))

    def left(self, mono_ns: int) -> None:
        """One has left."""
        self.moments.append(mono_ns)
        self._failed_ns = None

    def failed(self, mono_ns: int) -> None:
        """One did not leave, or nobody knows whether it did."""
        self._failed_ns = mono_ns

    def takes(self, message: Message) -> bool:
        """Count a message as the positive answer to one that left; False when it is none."""
        if self.request in _WITHOUT_ANSWER or self.answers >= len(self.moments):
            return False
        if not self.peer.functional and message.peer.target != self.peer.target:
            return False
        if not _answers(self.request, message.payload):
            return False
        self.answers += 0 if self.peer.functional else 1
        return True

    def largest_gap_ns(self, end_ns: int) -> int:
        """The largest gap between start, each one sent, and `end_ns`."""
        edges = [self.start_ns, *self.moments, max(end_ns, self.start_ns)]
        return max(after - before for before, after in itertools.pairwise(edges))


def _answers(request: bytes, payload: bytes) -> bool:
    return payload[:1] == bytes((request[0] + 0x40,)) and (request[0] == 0x3E or payload[1:2] == request[1:2])

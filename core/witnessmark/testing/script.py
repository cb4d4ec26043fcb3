"""What a far end has been told to answer, and what it has heard: shared by the thread that plays a control unit and the
test that directs it."""

from __future__ import annotations

import queue
from collections import deque
from collections.abc import Sequence

from witnessmark.clock import NS, SystemClock
from witnessmark.testing.farend import Reply


class Script:
    """The replies still to give, in order, and the requests heard."""

    def __init__(self) -> None:
        self._replies: deque[Reply] = deque()
        # Not a SimpleQueue: a signal as its time ends makes that one wait for ever.
        self._heard: queue.Queue[bytes] = queue.Queue()

    def reply_with(self, *replies: Reply) -> None:
        """Replace what is still to be given."""
        self._replies = deque(replies)

    def hear(self, payload: bytes) -> Reply:
        """Note a request and return how to treat it; never answer when nothing was told."""
        reply = self._replies.popleft() if self._replies else Reply()
        self._heard.put(payload)
        return reply

    def requests(self, count: int, wait_s: float) -> Sequence[bytes]:
        """Return `count` requests heard since the last call, or fewer after `wait_s` real seconds."""
        clock = SystemClock()
        end_ns = clock.mono_ns() + round(wait_s * NS)
        found: list[bytes] = []
        while len(found) < count:
            try:
                found.append(self._heard.get(timeout=max(0.0, (end_ns - clock.mono_ns()) / NS)))
            except queue.Empty:
                break
        return found


def pieces(spelt: bytes, reply: Reply) -> list[bytes]:
    """Cut the bytes of one answer as the reply says."""
    size = reply.piece or max(1, len(spelt))
    return [spelt[start : start + size] for start in range(0, len(spelt), size)]

"""When recorded things are due again, and the wait for the next one.

In: what was recorded, each with when on the recording's clock. Out: what is due now. Rules: the recording's time starts
at the moment a thing is first waited for; its gaps pass on the link's clock, so a practice clock plays faster; an
interrupt or a close ends the wait.
"""

from __future__ import annotations

import threading

from witnessmark.plugin import Clock, Doorbell, LocalError

NS = 1_000_000_000


class Waiting:
    """One wait at a time that can be dropped. `lock` is held while the link is used."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self.lock = threading.RLock()
        self._bell = Doorbell()
        self._closed = False

    def interrupt(self) -> None:
        self._bell.ring()

    def close(self) -> None:
        """End a wait and let none begin. May be called twice."""
        self._closed = True
        self._bell.ring()
        with self.lock:
            self._bell.close()

    def check_open(self) -> None:
        """Raise LocalError when closed."""
        if self._closed:
            raise LocalError("this link is closed", hint="open it again")

    def until(self, due_ns: int | None, wait_s: float) -> bool:
        """Wait for `due_ns` on the clock (None: never), `wait_s` real seconds at most. Say whether it is due."""
        if due_ns is not None:
            left_s = self.clock.real_s((due_ns - self.clock.mono_ns()) / NS)
            if left_s <= 0:
                return True
            wait_s = min(wait_s, left_s)
        self._bell.wait([], wait_s)
        return due_ns is not None and self.clock.mono_ns() >= due_ns

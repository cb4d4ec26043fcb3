"""Waiting that can be dropped: what most adapters need to keep the promise of `interrupt`.

In: descriptors to wait on and how long. Out: whether one of them can be read. Rules: a ring that comes before the wait
ends the next wait; any thread and any signal handler may ring; ringing a closed bell does nothing.
"""

from __future__ import annotations

import select
import socket
from collections.abc import Sequence


class Doorbell:
    """Ends a wait from outside. One thread waits; anyone rings."""

    def __init__(self) -> None:
        self._inside, self._outside = socket.socketpair()
        self._inside.setblocking(False)
        self._outside.setblocking(False)

    def wait(self, descriptors: Sequence[int], wait_s: float) -> bool:
        """Wait until a descriptor can be read (True), `wait_s` real seconds have passed or the bell rang (False).

        Raises OSError or ValueError for a descriptor that is closed.
        """
        own = self._inside.fileno()
        if own < 0:
            return False
        ready, _, _ = select.select([*descriptors, own], [], [], max(wait_s, 0.0))
        if own in ready:
            self._hush()
        return any(one != own for one in ready)

    def ring(self) -> None:
        """End the wait that is going on, or else the next one."""
        try:
            self._outside.send(b"!")
        except OSError:
            return  # closed, or so full of rings that one more changes nothing

    def close(self) -> None:
        """Give both ends back. May be called twice."""
        self._inside.close()
        self._outside.close()

    def _hush(self) -> None:
        try:
            self._inside.recv(4096)
        except OSError:
            return  # closed meanwhile, or taken already

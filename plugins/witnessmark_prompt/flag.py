"""A flag that `select` can wait on and a signal handler may raise."""

from __future__ import annotations

import contextlib
import os


class Flag:
    """Down at first. `raise_` may be called from any thread or signal handler, all else from one thread."""

    def __init__(self) -> None:
        self._reader, self._writer = os.pipe()
        os.set_blocking(self._reader, False)
        os.set_blocking(self._writer, False)

    def fileno(self) -> int:
        return self._reader

    def raise_(self) -> None:
        with contextlib.suppress(BlockingIOError, OSError):  # full: it is up already; closed: nobody waits
            os.write(self._writer, b"!")

    def lower(self) -> bool:
        """Take it down; return whether it was up."""
        was_up = False
        with contextlib.suppress(BlockingIOError):
            while os.read(self._reader, 64):
                was_up = True
        return was_up

    def close(self) -> None:
        """Give the descriptors back. May be called twice."""
        for name in ("_reader", "_writer"):
            fd = getattr(self, name)
            if fd >= 0:
                setattr(self, name, -1)
                os.close(fd)

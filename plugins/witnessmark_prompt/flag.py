"""A flag that `select` can wait on: up while something lies ready that no descriptor of the system shows."""

from __future__ import annotations

import contextlib
import os


class Flag:
    """Down at first. Raising or lowering a closed one does nothing."""

    def __init__(self) -> None:
        self._reader, self._writer = os.pipe()
        os.set_blocking(self._reader, False)
        os.set_blocking(self._writer, False)

    def fileno(self) -> int:
        return self._reader

    def raise_(self) -> None:
        with contextlib.suppress(OSError):  # full: it is up already; closed: nobody waits
            os.write(self._writer, b"!")

    def lower(self) -> None:
        """Take it down."""
        with contextlib.suppress(OSError):  # nothing in it, or closed
            while os.read(self._reader, 64):
                pass

    def close(self) -> None:
        """Give the descriptors back. May be called twice."""
        for name in ("_reader", "_writer"):
            fd = getattr(self, name)
            if fd >= 0:
                setattr(self, name, -1)
                os.close(fd)

"""What the link needs of a line: to hold it low, to leave it alone, to write and to read bytes.

In: levels and bytes with their times in seconds of the clock. Out: bytes. A serial port is one such line; a test's
control unit, which sees levels that a pseudo-terminal does not carry, is another.
"""

from __future__ import annotations

from typing import Protocol


class LineDriver(Protocol):
    """One K-line. Errors are LinkError `gone` or `stuck`."""

    def hold_low(self, seconds: float) -> None:
        """Pull the line low for so long, then let it go high."""
        ...

    def leave(self, seconds: float) -> None:
        """Leave the line alone for so long; what comes meanwhile is kept for `read`."""
        ...

    def write(self, data: bytes) -> None:
        """Send bytes at the line's speed."""
        ...

    def read(self, wait_s: float) -> bytes:
        """Return what has come, after at most `wait_s`; nothing on silence or an interrupt."""
        ...

    def discard(self) -> None:
        """Forget what has come: the marks that levels leave in a receiver."""
        ...

    def interrupt(self) -> None:
        """End a `read` that waits, or the next one."""
        ...

    def close(self) -> None:
        """Give the line back. May be called twice."""
        ...

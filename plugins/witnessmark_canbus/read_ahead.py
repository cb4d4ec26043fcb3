"""A serial port whose bytes are read in blocks and handed out one at a time.

python-can's serial-line bus asks for single bytes, three system calls each, which does not keep up with a full bus.
In: the open port. Out: the same port to the bus, with `line`, the bytes of the line being read, so that what the bus
cannot read is kept. Rules: nothing is read but by `fill`, one block a call and the rest left in the port, so that a
flood cannot hold the reader, and who sleeps on the port is woken for the rest.
"""

from __future__ import annotations

from typing import Any

ENDS = (b"\r", b"\a")
BLOCK = 512
"""Bytes in one go: about twenty frames, which take the library 1 to 2 ms. A stop waits for no more than that."""


class ReadAhead:
    """Stands where the bus keeps its port; what is not here is the port's own."""

    def __init__(self, port: Any) -> None:
        self._port = port
        self._block = b""
        self._at = 0
        self.line = bytearray()

    @property
    def in_waiting(self) -> int:
        return len(self._block) - self._at

    def fill(self) -> None:
        """Read a block of what the port has now. Raises OSError (pyserial's too) when it is gone."""
        self._block = self._block[self._at :] + self._port.read(min(max(1, self._port.in_waiting), BLOCK))
        self._at = 0

    def read(self, size: int = 1) -> bytes:
        """Hand out one byte, none when there is none."""
        byte = self._block[self._at : self._at + 1]
        self._at += 1 if byte else 0
        if self.line[-1:] in ENDS:
            self.line.clear()
        self.line += byte
        return byte

    def write(self, data: bytes) -> int | None:
        written: int | None = self._port.write(data)
        return written

    def flush(self) -> None:
        """Do nothing: waiting for the last bit to leave has no deadline, and a stop must never wait behind it."""

    @property
    def write_timeout(self) -> float | None:
        timeout: float | None = self._port.write_timeout
        return timeout

    @write_timeout.setter
    def write_timeout(self, timeout_s: float | None) -> None:
        self._port.write_timeout = timeout_s

    def fileno(self) -> int:
        number: int = self._port.fileno()
        return number

    def reset_input_buffer(self) -> None:
        self._block, self._at = b"", 0
        self._port.reset_input_buffer()

    def close(self) -> None:
        self._port.close()

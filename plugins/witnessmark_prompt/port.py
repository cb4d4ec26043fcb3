"""The serial port under the prompt link: opened through pyserial, read and written without waiting.

Rules that hold here: each way in which opening fails has its own kind and hint; what was received before a disconnect
is handed out before the disconnect is told; two programs never share a port where the system can tell.
"""

from __future__ import annotations

import contextlib
import os
import select

import serial

from witnessmark.plugin import LinkError, cannot_open
from witnessmark_prompt.profile import Serial

_PARITY = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}


BLOCK = 1024
"""Characters in one go; the rest stays in the port, so that a flood cannot hold a stop."""


class Port:
    """One open port. Raises LinkError of kind `missing`, `permission` or `busy`, or InputError for what is no port."""

    def __init__(self, name: str, settings: Serial) -> None:
        self.name = name
        try:
            self._serial = serial.serial_for_url(
                name,
                baudrate=settings.baud,
                bytesize=settings.bits,
                parity=_PARITY[settings.parity],
                stopbits=settings.stop,
                rtscts=settings.flow == "rts-cts",
                xonxoff=settings.flow == "xon-xoff",
                timeout=0,
                write_timeout=0,
                exclusive=True,
            )
        except (OSError, ValueError) as error:
            raise cannot_open(name, error, write="prompt:PORT?profile=FILE.toml") from error
        self.fd = self._descriptor()

    def read(self) -> bytes:
        """Return what has come, nothing when nothing has. Raises LinkError of kind `gone`."""
        try:
            if self.fd is None:
                return bytes(self._serial.read(min(max(1, self._serial.in_waiting), BLOCK)))
            characters = os.read(self.fd, BLOCK)
        except BlockingIOError:
            return b""
        except (OSError, serial.SerialException) as error:
            raise self._gone(error) from error
        if not characters:
            raise self._gone(None)
        return characters

    def waiting(self) -> bool:
        """Whether something has come, for a port without a descriptor; a port that is gone says yes."""
        try:
            return bool(self._serial.in_waiting)
        except (OSError, serial.SerialException):
            return True  # `read` says why

    def write(self, characters: bytes, wait_s: float) -> int:
        """Write what goes out within `wait_s`; return how much did. Raises LinkError of kind `gone`."""
        try:
            if self.fd is not None and not select.select([], [self.fd], [], wait_s)[1]:
                return 0
            return int(self._serial.write(characters) or 0)
        except (OSError, serial.SerialException) as error:
            raise self._gone(error) from error

    def close(self) -> None:
        """Give the port back. May be called twice."""
        self.fd = None
        with contextlib.suppress(OSError):  # it may be gone already
            self._serial.close()

    def _descriptor(self) -> int | None:
        try:
            return int(self._serial.fileno())
        except (AttributeError, OSError):  # a kind of port without one
            return None

    def _gone(self, error: Exception | None) -> LinkError:
        return LinkError(
            f"the interface at {self.name} is gone" + (f": {error}" if error else ""),
            kind="gone",
            hint="check plug and cable; what was running may be running still",
        )

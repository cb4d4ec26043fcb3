"""A K-line cable on a serial port, through pyserial.

In: a port's name and a speed. Out: a `LineDriver`. Rules: low is the port's break condition; two programs never share
the port; each way in which opening fails has its own kind and hint.
"""

from __future__ import annotations

import contextlib
import os

import serial

from witnessmark.plugin import Clock, Doorbell, LinkError, cannot_open


class SerialLine:
    """Raises LinkError `missing`, `permission` or `busy`, or InputError for a name that pyserial refuses."""

    def __init__(self, name: str, baud: int, clock: Clock) -> None:
        self._name = name
        self._clock = clock
        self._lost: LinkError | None = None
        try:
            self._port = serial.Serial(name, baud, timeout=0, write_timeout=0.25, exclusive=True)
        except (OSError, ValueError) as error:
            raise cannot_open(name, error, write="kline:PORT?init=fast") from error
        self._bell = Doorbell()

    def hold_low(self, seconds: float) -> None:
        try:
            self._port.break_condition = True
            self.leave(seconds)
            self._port.break_condition = False
        except OSError as error:
            raise self._gone(error) from error

    def leave(self, seconds: float) -> None:
        quiet = Doorbell()  # an interrupt must not cut a level short
        try:
            quiet.wait([], self._clock.real_s(seconds))
        finally:
            quiet.close()

    def write(self, data: bytes) -> None:
        try:
            self._port.write(data)
        except serial.SerialTimeoutException as error:
            raise LinkError(
                f"{self._name} takes no more bytes", kind="stuck", hint="check the cable and its driver"
            ) from error
        except OSError as error:
            raise self._gone(error) from error

    def read(self, wait_s: float) -> bytes:
        try:
            number = self._port.fileno()
            if not self._bell.wait([number], self._clock.real_s(wait_s)):
                return b""
            data = os.read(number, 4096)
        except OSError as error:
            raise self._gone(error) from error
        if not data:
            raise self._gone(None)
        return data

    def discard(self) -> None:
        try:
            while self._port.read(4096):
                pass
        except OSError as error:
            raise self._gone(error) from error

    def interrupt(self) -> None:
        self._bell.ring()

    def close(self) -> None:
        with contextlib.suppress(OSError):  # it may be gone already
            self._port.close()
        self._bell.close()

    def _gone(self, error: Exception | None) -> LinkError:
        return LinkError(
            f"the cable at {self._name} is gone" + (f": {error}" if error else ""),
            kind="gone",
            hint="check plug and cable; what was running may be running still",
        )

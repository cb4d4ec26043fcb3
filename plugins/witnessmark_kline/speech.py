"""Sending byte by byte on a line where we hear ourselves.

In: bytes to send, bytes that came. Out: bytes that others sent. Rules: between our bytes P4 passes, counted from when a
byte has left and not from when it is heard, which a driver may delay; each byte must come back as it was before the
next one leaves, so that a collision or a dead cable shows at once; our own bytes are never given as another's.
"""

from __future__ import annotations

from witnessmark.plugin import Clock, LinkError
from witnessmark_kline.line_driver import LineDriver
from witnessmark_kline.timing import ALLOWANCE_S, P4_LEAST_S

NS = 1_000_000_000


class Speech:
    """One half-duplex line. `echo` says whether the cable gives our own bytes back, `byte_s` how long a byte takes."""

    def __init__(self, line: LineDriver, clock: Clock, echo: bool, byte_s: float = 10 / 10400) -> None:
        self.line = line
        self._pace_ns = round((byte_s + P4_LEAST_S) * NS)
        self._clock = clock
        self._echo = echo
        self._heard = b""
        self.last_ns = clock.mono_ns()
        """When the last byte was on the line, ours or another's."""

    def say(self, data: bytes) -> None:
        """Send bytes with P4 between them.

        Raises LinkError `no_answer` when a byte does not come back, `garbled` when it comes back changed: the rest is
        not sent then.
        """
        written_ns = 0
        for place in range(len(data)):
            if place:
                left_ns = written_ns + self._pace_ns - self._clock.mono_ns()
                if left_ns > 0:
                    self.line.leave(left_ns / NS)
            byte = data[place : place + 1]
            self.line.write(byte)
            written_ns = self._clock.mono_ns()
            if self._echo:
                self._hear_back(byte)
            self.last_ns = self._clock.mono_ns()

    def hear(self, wait_s: float) -> bytes:
        """Return what others sent, after at most `wait_s`."""
        heard, self._heard = self._heard, b""
        if heard:
            return heard
        heard = self.line.read(wait_s)
        if heard:
            self.last_ns = self._clock.mono_ns()
        return heard

    def hear_one(self, within_s: float) -> int | None:
        """Return the next byte, None when none comes within the time and what a driver may add to it."""
        end_ns = self._clock.mono_ns() + round((within_s + ALLOWANCE_S) * NS)
        while not self._heard:
            left_ns = end_ns - self._clock.mono_ns()
            if left_ns <= 0:
                return None
            self._heard = self.hear(left_ns / NS)
        byte, self._heard = self._heard[0], self._heard[1:]
        return byte

    def wait_quiet(self, seconds: float) -> None:
        """Leave the line alone until so long has passed since the last byte."""
        left_ns = self.last_ns + round(seconds * NS) - self._clock.mono_ns()
        if left_ns > 0:
            self.line.leave(left_ns / NS)

    def discard(self) -> None:
        """Forget what has come."""
        self._heard = b""
        self.line.discard()

    def _hear_back(self, byte: bytes) -> None:
        came = self.hear_one(0.0)
        if came is None:
            raise LinkError(
                "our own byte did not come back: the line is dead",
                kind="no_answer",
                hint="the cable needs the vehicle's supply: check the plug; a cable that does not echo needs echo=no",
            )
        if came != byte[0]:
            raise LinkError(
                f"our byte {byte[0]:02X} came back as {came:02X}: another spoke, or the speed is wrong",
                kind="garbled",
                hint="wait for the line to be quiet; check the baud rate",
            )

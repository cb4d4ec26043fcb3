"""A python-can bus as a `FrameLink`: one reader, no thread.

In: an open bus. Out: frames and events, each with its stamp; `device_ns` is the library's time stamp where that is not
the library's own look at the clock. Rules: the bus is read only inside `receive`; an echo of our own is told apart even
where the library does not; what cannot be read is kept in a garbled event; a bus that is gone is told once as `lost`,
then as a LinkError.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from witnessmark.plugin import Capabilities, Clock, Doorbell, Event, Frame, LinkError, LocalError, Stamp
from witnessmark_canbus.meaning import from_message, to_message
from witnessmark_canbus.read_ahead import ENDS, ReadAhead

SLICE_S = 0.005
TURN_S = 0.002
"""How long one `receive` goes on taking frames where the bus keeps the rest: a stop must not wait behind a flood."""
SEND_WAIT_S = 0.25
LONGEST_WAIT_NS = 10_000_000_000
"""How long a frame may have waited in a socket; what seems to have waited longer was stamped by a clock set since."""
ACKNOWLEDGED = (b"\r", b"z\r", b"Z\r")
"""Lines by which a serial-line interface says that it took a command."""


class CanLink:
    """`release` gives back what was opened beside the bus."""

    def __init__(
        self,
        bus: Any,
        clock: Clock,
        capabilities: Capabilities,
        *,
        ahead: ReadAhead | None = None,
        echoes: bool = False,
        classes: bool = False,
        channel: str = "",
        release: Callable[[], None] = lambda: None,
    ) -> None:
        self._bus = bus
        self._clock = clock
        self.capabilities = capabilities
        self._ahead = ahead
        self._echoes: deque[tuple[int, bytes]] | None = deque(maxlen=4096) if echoes else None
        self._classes = classes
        self._channel = channel
        self._release = release
        self._bell = Doorbell()
        self._rung = threading.Event()
        self._lock = threading.RLock()
        self._closed = False
        self._lost: LinkError | None = None
        self._number = _descriptor(bus)

    def fileno(self) -> int | None:
        return self._number

    def interrupt(self) -> None:
        self._rung.set()
        self._bell.ring()

    def close(self) -> None:
        """Give the bus back. What an unplugged interface says while it is closed changes nothing."""
        import can

        self._closed = True
        self.interrupt()
        with self._lock:  # whoever waits has left when this is ours
            try:
                self._bus.shutdown()
            except (can.CanError, OSError):
                pass  # it is gone already; the port below is given back all the same
            finally:
                if self._ahead is not None:
                    self._ahead.close()
                self._bell.close()
                self._release()

    def send(self, frame: Frame) -> Stamp:
        """Hand a frame to the interface; return when it took it.

        Raises LocalError for what this link does not carry (nothing was sent); LinkError `gone` or `stuck`, and then
        it may have left.
        """
        import can

        if self._closed or not self.capabilities.can_send:
            why = "is closed" if self._closed else "only listens"
            raise LocalError(f"this link {why}", hint="open it without listen-only to send")
        if frame.fd and not self.capabilities.fd:
            raise LocalError("this bus carries no CAN FD frames", hint="open it with fd=yes where the interface can")
        if self._lost is not None:
            raise self._lost
        try:
            message = to_message(frame)
            if self._echoes is not None:
                self._echoes.append((frame.can_id, frame.data))
            self._bus.send(message, timeout=SEND_WAIT_S)
        except ValueError as error:
            raise LocalError(f"python-can refuses the frame: {error}", hint="check identifier and length") from error
        except (can.CanError, OSError) as error:
            raise self._not_sent(error) from error
        return self._clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        """Return what came, after at most `wait_s` real seconds. Raises LinkError once `lost` has been told."""
        import can

        with self._lock:
            if self._closed:
                raise LocalError("this link is closed", hint="open it again")
            if self._lost is not None:
                raise self._lost
            came: list[Frame | Event] = []
            try:
                if self._number is None:
                    self._take_slices(came, wait_s)
                elif self._bell.wait([self._number], wait_s):
                    self._take(came)
            except (can.CanError, OSError, ValueError) as error:
                self._lost = self._gone(error)
                rest = bytes(self._ahead.line) if self._ahead is not None else b""
                came.append(Event("lost", self._clock.stamp(), raw=rest, detail=self._lost.what))
            return came

    def _take(self, came: list[Frame | Event]) -> None:
        """Take what waits: a block from a port read ahead, else what there is time for."""
        if self._ahead is None:
            self._take_turn(came)
            return
        self._ahead.fill()
        while self._ahead.in_waiting:
            self._take_line(self._ahead, came)

    def _take_turn(self, came: list[Frame | Event]) -> None:
        end_ns = self._clock.mono_ns() + round(TURN_S * self._clock.rate * 1e9)
        while self._take_one(came, 0.0) and self._clock.mono_ns() < end_ns:
            pass

    def _take_slices(self, came: list[Frame | Event], wait_s: float) -> None:
        """Wait in slices on a bus without a descriptor."""
        end_ns = self._clock.mono_ns() + round(wait_s * self._clock.rate * 1e9)
        while not self._rung.is_set():
            left_s = self._clock.real_s((end_ns - self._clock.mono_ns()) / 1e9)
            if self._take_one(came, min(max(left_s, 0.0), SLICE_S)):
                self._take_turn(came)
                return
            if left_s <= 0:
                return
        self._rung.clear()

    def _take_one(self, came: list[Frame | Event], wait_s: float) -> bool:
        message = self._bus.recv(wait_s)
        if message is not None:
            came.append(self._read(message))
        return message is not None

    def _take_line(self, ahead: ReadAhead, came: list[Frame | Event]) -> None:
        """Let the serial-line bus read one line; keep it as garbled where the bus cannot."""
        import can

        try:
            message = self._bus.recv(0.0)
        except (can.CanError, ValueError, IndexError) as error:  # from memory: never the port's own failure
            _forget_line(self._bus)
            came.append(Event("garbled", self._clock.stamp(), bytes(ahead.line), f"no frame: {error}"))
            return
        if message is not None and not message.is_remote_frame and message.dlc != len(message.data):
            came.append(Event("garbled", self._clock.stamp(), bytes(ahead.line), "fewer data bytes than it says"))
        elif message is not None:
            came.append(self._read(message))
        elif (line := bytes(ahead.line))[-1:] in ENDS and line not in ACKNOWLEDGED:
            stamp = self._clock.stamp()
            came.append(Event("refused", stamp, line) if line == b"\a" else Event("garbled", stamp, line, "no frame"))

    def _read(self, message: Any) -> Frame | Event:
        stamp = self._clock.stamp()
        if self.capabilities.device_clock:
            stamp = replace(stamp, device_ns=round(message.timestamp * 1e9))
        if self.capabilities.stamps == "arrived":
            stamp = arrived(stamp, round(message.timestamp * 1e9))
        return from_message(message, stamp, classes=self._classes, channel=self._channel, echo=self._is_echo(message))

    def _is_echo(self, message: Any) -> bool:
        """Whether a bus that echoes without saying so gives back the oldest frame that we sent."""
        if self._echoes and self._echoes[0] == (message.arbitration_id, bytes(message.data)):
            self._echoes.popleft()
            return True
        return False

    def _not_sent(self, error: Exception) -> LinkError:
        if _timed_out(error):
            return LinkError(
                "the interface did not take the frame in time",
                kind="stuck",
                hint="check bit rate and termination: a bus where nobody acknowledges fills up",
            )
        self._lost = self._gone(error)
        return self._lost

    def _gone(self, error: Exception) -> LinkError:
        return LinkError(
            f"the CAN interface is gone: {error}",
            kind="gone",
            hint="check plug and cable; what was running may be running still",
        )


def arrived(read: Stamp, wall_ns: int) -> Stamp:
    """Return the stamp of a frame that was read just now and that the system had at `wall_ns` of its own clock.

    A clock that was set in between tells nothing: the moment of reading is kept where the two do not fit.
    """
    waited_ns = read.wall_ns - wall_ns
    if not 0 < waited_ns <= LONGEST_WAIT_NS:
        return read
    boot_ns = None if read.boot_ns is None else read.boot_ns - waited_ns
    return Stamp(wall_ns, read.mono_ns - waited_ns, boot_ns, read.device_ns)


def _descriptor(bus: Any) -> int | None:
    try:
        number = bus.fileno()
    except (NotImplementedError, OSError):
        return None
    return number if isinstance(number, int) and number >= 0 else None


def _forget_line(bus: Any) -> None:
    """Drop the bytes that the bus could not decode: it keeps them and would fail on every later line."""
    buffer = getattr(bus, "_buffer", None)
    if isinstance(buffer, bytearray):
        buffer.clear()


def _timed_out(error: BaseException) -> bool:
    import can
    import serial

    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, can.CanTimeoutError | serial.SerialTimeoutException):
            return True
        seen = seen.__cause__
    return "buffer" in str(error).lower() or "Transmit" in str(error)

"""Recorded CAN frames as a `FrameLink` that is only heard.

In: a recording. Out: its frames in their order; `device_ns` is the recording's own time. Rules: what was sent when it
was recorded is heard like the rest, for here nobody sent it; the end of the recording is told once as `lost`, then as a
LinkError, never as silence; damage in the file is told as garbled where the reader met it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from witnessmark.plugin import Capabilities, Clock, Event, Frame, LinkError, LocalError, Stamp
from witnessmark.recording.file import Recording
from witnessmark_replay.schedule import Waiting

BATCH = 1000
"""The most frames one `receive` gives."""


class ReplayFrames:
    """Plays one recording once."""

    def __init__(self, recording: Recording, clock: Clock, fast: bool) -> None:
        self.capabilities = Capabilities(listen="silent", can_send=False, live=False, device_clock=True, fd=True)
        self._recording = recording
        self._frames = recording.frames()
        self._next = next(self._frames, None)
        self._fast = fast
        self._offset_ns: int | None = None
        self._told_damage = 0
        self._waiting = Waiting(clock)
        self._ended = False

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        self._waiting.interrupt()

    def close(self) -> None:
        """Let go of the file. May be called twice."""
        self._waiting.close()
        self._frames = iter(())
        self._recording.content = b""  # it may be mapped, and stays open while anyone holds it

    def send(self, frame: Frame) -> Stamp:
        """Raise LocalError: a recording is heard, not spoken to."""
        raise LocalError(
            "a recording cannot be sent to", hint="open it with as=messages to ask what it holds answers to"
        )

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        """Return the frames that are due, after at most `wait_s` real seconds. Raises LinkError past the end."""
        with self._waiting.lock:
            self._waiting.check_open()
            if self._ended:
                raise LinkError("the recording is over", kind="gone", hint="open it again to play it again")
            came: list[Frame | Event] = []
            if self._waiting.until(self._due_ns(), wait_s):
                now_ns = self._waiting.clock.mono_ns()
                while self._next is not None and len(came) < BATCH and self._due_ns() <= now_ns:
                    came.append(self._heard(self._next))
                    self._next = next(self._frames, None)
            came += self._damage()
            if self._next is None:
                self._ended = True
                came.append(Event("lost", self._waiting.clock.stamp(), detail="the recording ends here"))
            return came

    def _due_ns(self) -> int:
        """When the next frame is due on the link's clock; at once past the end and when played fast."""
        if self._fast or self._next is None:
            return 0
        recorded_ns = self._next.stamp.mono_ns
        if self._offset_ns is None:
            self._offset_ns = self._waiting.clock.mono_ns() - recorded_ns
        return recorded_ns + self._offset_ns

    def _heard(self, frame: Frame) -> Frame:
        return replace(frame, stamp=self._waiting.clock.stamp(device_ns=frame.stamp.mono_ns), origin="received")

    def _damage(self) -> list[Event]:
        fresh = self._recording.damage[self._told_damage :]
        self._told_damage += len(fresh)
        return [Event("garbled", self._waiting.clock.stamp(), detail=str(error)) for error in fresh]

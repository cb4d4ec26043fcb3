"""A prompt interface that carries CAN frames: the `FrameLink` port.

Rules that hold here: a frame is handed over as soon as the interface gave its prompt, and what the interface says of
it comes later as an event; data is never taken for an answer to a command, nor the other way round.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from witnessmark.plugin import Capabilities, Clock, Event, Frame, LocalError, Stamp
from witnessmark_prompt.conversation import Conversation, Line
from witnessmark_prompt.event import lost_event, missing_prompt, with_device_time, word_event
from witnessmark_prompt.reading import Data, Reading, Word


class PromptFrameLink:
    """Frames through a `Conversation` that has been started up."""

    def __init__(self, talk: Conversation, reading: Reading, clock: Clock, capabilities: Capabilities) -> None:
        self._talk = talk
        self._reading = reading
        self._clock = clock
        self._capabilities = capabilities
        self._told_lost = False

    @property
    def capabilities(self) -> Capabilities:
        return self._capabilities

    def fileno(self) -> int | None:
        return self._talk.fileno()

    def free(self) -> bool:
        """Whether `send` would not wait for a prompt."""
        return self._talk.free()

    def interrupt(self) -> None:
        self._talk.interrupt()

    def close(self) -> None:
        self._talk.close()

    def send(self, frame: Frame) -> Stamp:
        """Hand a frame to the interface; return when its last character was.

        Raises LocalError for a frame that it cannot carry, LinkError as `Conversation.command` does.
        """
        if not self._capabilities.can_send:
            raise LocalError("this link only listens", hint="open it without listen-only to send")
        if frame.fd or frame.kind != "data" or len(frame.data) > 8:
            raise LocalError("this interface carries data frames of up to 8 bytes", hint="use another interface")
        if frame.extended and not self._reading.sends_extended:
            raise LocalError("the profile does not say how to send 29 bits", hint="add send.command_extended to it")
        return self._talk.command(self._reading.write(frame.can_id, frame.extended, frame.data))

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        """Return what came, after at most `wait_s` real seconds. Raises LinkError once `lost` has been told."""
        if self._told_lost and self._talk.lost is not None:
            raise self._talk.lost
        came = [item for line in self._talk.hear(wait_s) if (item := self._read(line)) is not None]
        if self._talk.lost is not None:
            self._told_lost = True
            came.append(lost_event(self._clock.stamp(), self._talk.lost.what, self._talk.rest))
        return came

    def _read(self, line: Line) -> Frame | Event | None:
        if line.prompt:
            return None
        if line.missing:
            return missing_prompt(line)
        seen = self._reading.read(line.raw)
        if isinstance(seen, Word):
            return word_event(seen, line)
        if not isinstance(seen, Data) or seen.can_id is None or len(seen.payload) > 8:
            return Event("garbled", line.stamp, line.raw, "not a frame")
        stamp = with_device_time(line.stamp, seen.time_ns)
        kind: Literal["data", "remote"] = "remote" if seen.remote else "data"
        return Frame(seen.can_id, seen.payload, stamp, extended=seen.extended, kind=kind)

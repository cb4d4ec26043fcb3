"""A prompt interface that carries whole diagnostic messages: the `MessageLink` port.

Rules that hold here: an address is set before the first request to a peer and whenever the peer changes; an answer
belongs to the peer whose answers come from that identifier; an interface that does not say from where an answer comes
is taken to speak of the peer last set.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from witnessmark.plugin import Capabilities, Clock, Event, LocalError, Message, Peer, Stamp
from witnessmark_prompt.conversation import Conversation, Line
from witnessmark_prompt.event import lost_event, missing_prompt, with_device_time, word_event
from witnessmark_prompt.reading import Begun, Data, Reading, Word
from witnessmark_prompt.start_up import Ask, ask


class PromptMessageLink:
    """Messages through a `Conversation` that has been started up. `address` holds the commands that set one."""

    def __init__(
        self, talk: Conversation, reading: Reading, clock: Clock, capabilities: Capabilities, address: Sequence[Ask]
    ) -> None:
        self._talk = talk
        self._reading = reading
        self._clock = clock
        self._capabilities = capabilities
        self._address = address
        self._set: Peer | None = None
        self._last: Peer | None = None
        self._known: dict[tuple[int, bool], Peer] = {}
        self._begun: dict[Peer | None, Stamp] = {}
        self._kept: deque[Line] = deque()
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

    def wake(self, peer: Peer) -> Sequence[Event]:
        """Set the address of `peer` where the profile says how. Raises LinkError when the interface refuses it."""
        if peer.source is not None:
            self._known[peer.source, peer.extended] = peer
        if not self._address or peer == self._set or peer.source is None:
            return []
        self._set = None  # where one of them is refused, nobody knows which address stands
        for one in self._address:
            self._kept += ask(self._talk, self._reading, one, {"request": peer.target, "answer": peer.source})
        self._set = peer
        return []

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        """Hand a request to the interface; return when its last character was.

        Raises LocalError for a request that it cannot carry, LinkError as `Conversation.command` does.
        """
        if not self._capabilities.can_send:
            raise LocalError("this link only listens", hint="open it without listen-only to send")
        if len(payload) > self._capabilities.max_payload:
            raise LocalError(
                f"{len(payload)} bytes are more than the interface takes", hint="use another interface for this request"
            )
        if peer.functional and not self._capabilities.functional:
            raise LocalError("this interface has no functional requests", hint="ask each control unit by itself")
        if peer.extended and not self._reading.sends_extended:
            raise LocalError("the profile does not say how to send 29 bits", hint="add send.command_extended to it")
        self.wake(peer)
        self._last = peer
        return self._talk.command(self._reading.write(peer.target, peer.extended, payload))

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        """Return what came, after at most `wait_s` real seconds. Raises LinkError once `lost` has been told."""
        if self._told_lost and self._talk.lost is not None:
            raise self._talk.lost
        kept, self._kept = self._kept, deque()
        lines = [*kept, *self._talk.hear(0.0 if kept else wait_s)]
        came = [item for line in lines if (item := self._read(line)) is not None]
        if self._talk.lost is not None:
            self._told_lost = True
            came.append(lost_event(self._clock.stamp(), self._talk.lost.what, self._talk.rest))
        return came

    def _read(self, line: Line) -> Message | Event | None:
        if line.prompt:
            return None
        if line.missing:
            return missing_prompt(line)
        seen = self._reading.read(line.raw)
        if isinstance(seen, Word):
            return word_event(seen, line, self._last)
        peer = self._peer(seen)
        if isinstance(seen, Begun):
            self._begun[peer] = line.stamp
            return Event("begun", line.stamp, line.raw, "", peer)
        if peer is None:
            return Event("garbled", line.stamp, line.raw, "an answer before any address was set")
        stamp = with_device_time(line.stamp, seen.time_ns)
        return Message(peer, seen.payload, self._begun.pop(peer, stamp), stamp, (line.raw,))

    def _peer(self, seen: Data | Begun) -> Peer | None:
        if seen.can_id is None:
            return self._set or self._last
        known = self._known.get((seen.can_id, seen.extended))
        if known is not None or self._last is None:
            return known
        return Peer(self._last.target, seen.can_id, False, seen.extended)

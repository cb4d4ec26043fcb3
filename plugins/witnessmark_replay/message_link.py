"""Recorded conversations as a `MessageLink`: a request is answered as it was when it was recorded.

In: a recording. Out: the recorded answers, each after its recorded delay. Rules: the same request asked again gets the
answers of the next time it was recorded, and of the last time from then on; a request that was never recorded gets a
`refused` event that says so, never silence and never another request's answer.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Sequence
from itertools import count

from witnessmark.plugin import Capabilities, Clock, Event, LocalError, Message, Peer, Stamp
from witnessmark.recording.conversation import Conversation, line_of
from witnessmark.recording.file import Recording
from witnessmark.recording.line import Line
from witnessmark.recording.reading import read_recording
from witnessmark_replay.schedule import Waiting

Key = tuple[int, bool, bytes]


class ReplayMessages:
    """Answers from one recording."""

    def __init__(self, recording: Recording, clock: Clock, fast: bool) -> None:
        self.capabilities = Capabilities(can_send=True, live=False, device_clock=True)
        self._name = recording.path.name
        self._fast = fast
        self._known: dict[Key, list[Conversation]] = defaultdict(list)
        for one in read_recording(recording).conversations:
            if one.request is not None:
                line = line_of(one.request)
                self._known[_target(line), line.width == 29, one.request.payload].append(one)
        self._asked: dict[Key, int] = defaultdict(int)
        self._due: list[tuple[int, int, Message | Event]] = []
        self._numbers = count()
        self._waiting = Waiting(clock)

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        self._waiting.interrupt()

    def close(self) -> None:
        self._waiting.close()

    def wake(self, peer: Peer) -> Sequence[Event]:
        """Do nothing: a recording is awake."""
        return []

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        """Look the request up and set its answers down as due. Raises LocalError for one that is too long."""
        self._waiting.check_open()
        if len(payload) > self.capabilities.max_payload:
            raise LocalError(f"{len(payload)} bytes are too many", hint=f"at most {self.capabilities.max_payload}")
        stamp = self._waiting.clock.stamp()
        key = (peer.target, peer.extended, payload)
        recorded = self._known.get(key)
        if recorded is None:
            self._put(stamp.mono_ns, self._never_recorded(peer, payload, stamp))
            return stamp
        one = recorded[min(self._asked[key], len(recorded) - 1)]
        self._asked[key] += 1
        assert one.request is not None
        for answer in one.answers:
            line = line_of(answer)
            if peer.source is not None and not peer.functional and _source(line) != peer.source:
                continue
            due_ns = stamp.mono_ns + (0 if self._fast else answer.last_ns - one.request.last_ns)
            begun_ns = stamp.mono_ns + (0 if self._fast else answer.first_ns - one.request.last_ns)
            if begun_ns < due_ns:
                self._put(begun_ns, Event("begun", stamp, answer.frames[0], "first frame", _answering(peer, line)))
            self._put(
                due_ns,
                Message(
                    _answering(peer, line),
                    answer.payload,
                    _recorded(stamp, answer.first_ns),
                    _recorded(stamp, answer.last_ns),
                    answer.frames,
                ),
            )
        return stamp

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        """Return what is due, after at most `wait_s` real seconds."""
        with self._waiting.lock:
            self._waiting.check_open()
            if not self._waiting.until(self._due[0][0] if self._due else None, wait_s):
                return []
            now = self._waiting.clock.stamp()
            came = []
            while self._due and self._due[0][0] <= now.mono_ns:
                came.append(_stamped(heapq.heappop(self._due)[2], now))
            return came

    def _put(self, due_ns: int, what: Message | Event) -> None:
        heapq.heappush(self._due, (due_ns, next(self._numbers), what))

    def _never_recorded(self, peer: Peer, payload: bytes, stamp: Stamp) -> Event:
        asked = sorted({key[0] for key in self._known})
        known = ", ".join(f"{target:X}" for target in asked[:8]) or "nobody"
        return Event(
            "refused",
            stamp,
            payload,
            f"{payload.hex(' ').upper()} to {peer.target:X} was never recorded in {self._name}, which asks {known}",
            peer,
        )


def _target(line: Line) -> int:
    return line.number & 0xFFFF if line.width == 32 else line.number


def _source(line: Line) -> int:
    return line.number >> 16 if line.width == 32 else line.number


def _answering(peer: Peer, line: Line) -> Peer:
    return Peer(peer.target, _source(line), False, peer.extended)


def _recorded(stamp: Stamp, recorded_ns: int) -> Stamp:
    return Stamp(stamp.wall_ns, stamp.mono_ns, stamp.boot_ns, recorded_ns)


def _stamped(what: Message | Event, now: Stamp) -> Message | Event:
    """Stamp what comes now with now, and keep the recording's own times as the device's."""
    if isinstance(what, Event):
        return Event(what.kind, now, what.raw, what.detail, what.peer)
    first, last = what.first.device_ns, what.last.device_ns
    assert first is not None and last is not None
    took_ns = max(0, last - first)  # the recording's clock may have been set back meanwhile
    began = Stamp(now.wall_ns - took_ns, now.mono_ns - took_ns, None, first)
    began = began if began.mono_ns >= what.first.mono_ns else _recorded(now, first)
    return Message(what.peer, what.payload, began, _recorded(now, last), what.raw, what.origin)

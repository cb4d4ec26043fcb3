"""Another tester on the bus of the practice truck: it asks what hands tell it to, and hears its answers whole.

Requests flow in, frames and answers flow out. Rules that hold here: it takes part only while a request of its own is
not answered, so that it never speaks into a conversation of somebody else's; a long answer gets its flow control
(ISO 15765-2:2016, 9.6.5), without which the control unit sends only the beginning of it; it keeps a session alive only
while it was told to, until it leaves the session; it stops what it started.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.wire.isotp import Address, Endpoint, Received
from witnessmark_practice.bus import Bus, BusFrame
from witnessmark_practice.node import BRAKES, Place, patient

KEEP_EVERY_S = 2.0
"""How often it says that it is there (ISO 14229-2:2021, table 5: S3 client)."""
ANSWERS_WITHIN_S = 6.0
"""How long it waits for an answer: P2* of the control unit, and a second."""
PRESENT = bytes.fromhex("3E80")
EXTENDED, DEFAULT = bytes.fromhex("1003"), bytes.fromhex("1001")
PENDING = 0x78


@dataclass
class _Whole:
    """A whole run: in its session, started, stopped after so long. `until_s` is None before it is known to run."""

    start: bytes
    stop: bytes
    seconds: float
    until_s: float | None = None


class OtherTester:
    """Speaks to one control unit. `answers` are those to its last request, or those of its last whole run."""

    def __init__(self, bus: Bus, rate: int = 1, place: Place = BRAKES) -> None:
        self._bus = bus
        self._place = place
        self._endpoint = Endpoint(Address(place.request, place.answer, place.extended), patient(rate, padding=0))
        self._asked = b""
        self._waits_until_s = 0.0
        self._next: bytes = b""
        self._present_s: float | None = None
        self._whole: _Whole | None = None
        self.answers: list[bytes] = []

    def ask(self, payload: bytes, now_s: float, *, keep: bool = False) -> bool:
        """Send one request; return False when nobody took it. `keep`: keep the session alive from now on."""
        if not self._bus.awake:
            return False
        self._whole = None
        self.answers.clear()
        self._send(payload, now_s, keep=keep)
        return True

    def run(self, start: bytes, stop: bytes, seconds: float, now_s: float) -> bool:
        """Begin a whole run; return False when nobody took it."""
        if not self.ask(EXTENDED, now_s, keep=True):
            return False
        self._whole = _Whole(start, stop, seconds)
        return True

    def stop(self, now_s: float) -> bool:
        """Stop the run now, or as soon as it runs; return False when there is none."""
        if self._whole is None:
            return False
        self._whole.seconds = 0.0
        if self._whole.until_s is not None:
            self._whole.until_s = now_s
        return True

    def hear(self, frame: BusFrame) -> None:
        """Take an answer off the bus while one is waited for."""
        waits = frame.at_s < self._waits_until_s
        if not waits or (frame.can_id, frame.extended) != (self._place.answer, self._place.extended):
            return
        for told in self._endpoint.receive(frame.data, round(frame.at_s * 1e9)):
            if isinstance(told, Received):
                self._answered(told.payload, frame.at_s)

    def advance(self, now_s: float) -> None:
        """Send what is due."""
        self._endpoint.tick(round(now_s * 1e9))
        while self._present_s is not None and self._present_s <= now_s:
            at_s, self._present_s = self._present_s, self._present_s + KEEP_EVERY_S
            self._put(bytes((len(PRESENT),)) + PRESENT.ljust(7, b"\x00"), at_s)
        whole = self._whole
        if whole is not None and whole.until_s is not None and whole.until_s <= now_s:
            self._next, whole.until_s = whole.stop, None
        if self._next:
            payload, self._next = self._next, b""
            self._send(payload, now_s, keep=self._present_s is not None)
        self._speak(now_s)

    def due_s(self) -> float | None:
        """Return when it does something by itself, None while it will not."""
        deadline_ns = self._endpoint.deadline_ns()
        moments = (
            0.0 if self._next else None,
            None if deadline_ns is None else deadline_ns / 1e9,
            self._present_s,
            self._whole.until_s if self._whole is not None else None,
        )
        return min((one for one in moments if one is not None), default=None)

    def _answered(self, payload: bytes, at_s: float) -> None:
        whole = self._whole
        if whole is None or self._asked not in (EXTENDED, DEFAULT):
            self.answers.append(payload)
        if payload[0] == 0x7F and payload[2:] == bytes((PENDING,)):
            self._waits_until_s = at_s + ANSWERS_WITHIN_S
            return
        self._waits_until_s = at_s
        if whole is None:
            return
        if self._asked == EXTENDED and payload[0] != 0x7F:
            self._next = whole.start
        elif self._asked == whole.start and payload[0] != 0x7F:
            whole.until_s = at_s + whole.seconds
        elif self._asked == DEFAULT:
            self._whole = None
        else:
            self._next = DEFAULT

    def _send(self, payload: bytes, now_s: float, *, keep: bool) -> None:
        self._asked = payload
        self._endpoint.reset(round(now_s * 1e9))
        self._endpoint.send(payload, round(now_s * 1e9))
        self._waits_until_s = now_s + ANSWERS_WITHIN_S
        if payload == DEFAULT:
            self._present_s = None
        elif keep:
            self._present_s = self._present_s or now_s + KEEP_EVERY_S
        self._speak(now_s)

    def _speak(self, now_s: float) -> None:
        for data in self._endpoint.outgoing(round(now_s * 1e9)):
            self._put(data, now_s)

    def _put(self, data: bytes, at_s: float) -> None:
        self._bus.put(self, BusFrame(self._place.request, data, self._place.extended, at_s))

"""A control unit on its bus: ISO 15765-2 in the server's role, normal or normal fixed addressing.

Frames flow in with their clock seconds; whole requests go to the control unit, its answers leave as frames. Rules that
hold here: functional requests have an endpoint of their own, so that they never end a physical one in progress; answers
leave one after another on the physical address.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Protocol

from witnessmark.wire.isotp import Address, Endpoint, Received, Settings
from witnessmark_practice.bus import Bus, BusFrame

MOST_RECORDED = 100_000


class Server(Protocol):
    """What a node needs of its control unit."""

    def receive(self, payload: bytes, functional: bool, now_s: float) -> None: ...

    def outgoing(self, now_s: float) -> list[bytes]: ...

    def due_s(self) -> float | None: ...


@dataclass(frozen=True, slots=True)
class Place:
    """Where on the bus a control unit is spoken to."""

    request: int
    answer: int
    functional: int = 0x7DF
    extended: bool = False


BRAKES = Place(0x6B3, 0x6BB)
BRAKES_29 = Place(0x18DA28F1, 0x18DAF128, 0x18DB33F1, extended=True)
ENGINE = Place(0x7E0, 0x7E8)
ENGINE_29 = Place(0x18DA10F1, 0x18DAF110, 0x18DB33F1, extended=True)
REQUEST_ID, ANSWER_ID, FUNCTIONAL_ID = BRAKES.request, BRAKES.answer, BRAKES.functional


@dataclass(frozen=True, slots=True)
class Heard:
    """One whole request as the control unit's ears had it."""

    at_s: float
    payload: bytes
    functional: bool


def patient(rate: int, *, padding: int, block_size: int = 0, st_min: int = 0) -> Settings:
    """Return settings whose timeouts are the standard's in real time: a real delay is `rate` times as long here."""
    usual = Settings()
    return Settings(
        block_size,
        st_min,
        padding,
        n_bs_ns=usual.n_bs_ns * rate,
        n_cs_ns=usual.n_cs_ns * rate,
        n_cr_ns=usual.n_cr_ns * rate,
    )


class Node:
    """Joins a control unit to a bus. `requests` is all that it heard."""

    def __init__(self, unit: Server, bus: Bus, rate: int = 1, place: Place = BRAKES) -> None:
        self._unit = unit
        self._bus = bus
        self._place = place
        settings = patient(rate, block_size=8, st_min=1, padding=0xAA)
        self._physical = Endpoint(Address(place.answer, place.request, place.extended), settings)
        self._functional = Endpoint(Address(place.answer, place.functional, place.extended), settings)
        self._answers: deque[bytes] = deque()
        self.requests: deque[Heard] = deque(maxlen=MOST_RECORDED)

    def hear(self, frame: BusFrame) -> None:
        """Take a frame off the bus."""
        place = self._place
        if frame.extended != place.extended or frame.can_id not in (place.request, place.functional):
            return
        functional = frame.can_id == place.functional
        endpoint = self._functional if functional else self._physical
        for told in endpoint.receive(frame.data, round(frame.at_s * 1e9), functional):
            if isinstance(told, Received):
                self.requests.append(Heard(frame.at_s, told.payload, functional))
                self._unit.receive(told.payload, functional, frame.at_s)

    def advance(self, now_s: float) -> None:
        """Let the control unit and the endpoints do what is due, and send what may leave."""
        now_ns = round(now_s * 1e9)
        self._answers += self._unit.outgoing(now_s)
        for endpoint in (self._physical, self._functional):
            endpoint.tick(now_ns)
        while True:
            if self._answers and not self._physical.sending:
                self._physical.send(self._answers.popleft(), now_ns)
            frames = self._physical.outgoing(now_ns) + self._functional.outgoing(now_ns)
            for data in frames:
                self._bus.put(self, BusFrame(self._place.answer, data, self._place.extended, now_s))
            if not frames and (self._physical.sending or not self._answers):
                return

    def due_s(self) -> float | None:
        """Return when something happens by itself, None while nothing will."""
        deadlines = (self._physical.deadline_ns(), self._functional.deadline_ns())
        moments = [deadline / 1e9 for deadline in deadlines if deadline is not None]
        unit_due_s = self._unit.due_s()
        return min([*moments, unit_due_s] if unit_due_s is not None else moments, default=None)

    def silence(self, now_s: float) -> None:
        """Forget what was on its way: the control unit lost its supply."""
        self._answers.clear()
        for endpoint in (self._physical, self._functional):
            endpoint.reset(round(now_s * 1e9))

"""Both ends of a conversation in memory: a link for the tester, and a control unit that answers as it is told.

`Unit` maps a request to its answers, each so many seconds after the request; the clock moves only when told, and by
a millisecond each time the link is looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from witnessmark.clock import NS, ManualClock, Stamp
from witnessmark.errors import LinkError
from witnessmark.link.frame import Event, Frame, Message, Peer
from witnessmark.link.port import Capabilities
from witnessmark.wire.isotp import Endpoint, Received, Settings
from witnessmark.wire.isotp.address import Address

UNIT = Peer(0x7A0, 0x7A8)
Answers = Sequence[tuple[float, bytes]]


class Unit:
    """A control unit. `table` says what a request is answered with; a callable decides each time."""

    def __init__(self, clock: ManualClock, table: dict[bytes, Answers | Callable[[], Answers]] | None = None) -> None:
        self.clock = clock
        self.table = table or {}
        self.heard: list[bytes] = []
        self.heard_ns: list[int] = []
        self.due: list[tuple[int, Peer, bytes]] = []

    def take(self, peer: Peer, payload: bytes) -> None:
        self.heard.append(payload)
        self.heard_ns.append(self.clock.mono_ns())
        answers = self.table.get(payload, ())
        for delay_s, answer in answers() if callable(answers) else answers:
            self.say(answer, after_s=delay_s, peer=peer)

    def say(self, payload: bytes, *, after_s: float = 0.0, peer: Peer = UNIT) -> None:
        self.due.append((self.clock.mono_ns() + round(after_s * NS), peer, payload))

    def ready(self) -> list[tuple[int, Peer, bytes]]:
        now_ns = self.clock.mono_ns()
        ready = sorted((one for one in self.due if one[0] <= now_ns), key=lambda one: one[0])
        self.due = [one for one in self.due if one[0] > now_ns]
        return ready


class MemoryMessageLink:
    """A MessageLink whose other end is a `Unit`. `broken`: it is unplugged; `stubborn`: so many sends are not taken."""

    capabilities = Capabilities()

    def __init__(self, unit: Unit) -> None:
        self.unit = unit
        self.clock = unit.clock
        self.events: list[Event | Message] = []
        self.woken: list[Peer] = []
        self.broken = False
        self.mute = False
        self.stubborn = 0
        self.closed = False
        self.idle_s = 0.001

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        pass

    def close(self) -> None:
        self.closed = True

    def wake(self, peer: Peer) -> Sequence[Event]:
        self.woken.append(peer)
        return ()

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        self._check()
        if self.stubborn:
            self.stubborn -= 1
            raise LinkError("no prompt came", kind="no_answer", hint="try again", reached="nothing")
        stamp = self.clock.stamp()
        if not self.mute:
            self.unit.take(peer, payload)
        return stamp

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        self._check()
        self.clock.advance(max(wait_s, self.idle_s))
        came: list[Message | Event] = list(self.events)
        self.events.clear()
        for at_ns, peer, payload in self.unit.ready():
            stamp = Stamp(at_ns, at_ns, at_ns)
            came.append(Message(peer, payload, stamp, stamp, (payload,)))
        return came

    def _check(self) -> None:
        if self.broken:
            raise LinkError("the interface does not answer", kind="gone", hint="check plug and cable")


class MemoryFrameLink:
    """A FrameLink whose other end is a `Unit` behind an endpoint of its own. `extra` frames come as they are."""

    capabilities = Capabilities()

    def __init__(self, unit: Unit, settings: Settings | None = None) -> None:
        self.unit = unit
        self.clock = unit.clock
        self.sent: list[Frame] = []
        self.extra: list[Frame] = []
        self.deaf = False
        self.only_frames: int | None = None
        self.idle_s = 0.001
        self._endpoint = Endpoint(Address(0x7A8, 0x7A0), settings)

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        pass

    def close(self) -> None:
        pass

    def send(self, frame: Frame) -> Stamp:
        self.sent.append(frame)
        if not self.deaf and frame.can_id == 0x7A0:
            for one in self._endpoint.receive(frame.data, self.clock.mono_ns()):
                if isinstance(one, Received):
                    self.unit.take(UNIT, one.payload)
        return self.clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Frame | Event]:
        self.clock.advance(max(wait_s, self.idle_s))
        came: list[Frame | Event] = list(self.extra)
        self.extra.clear()
        if not self._endpoint.sending:
            for _, _, payload in self.unit.ready()[:1]:
                self._endpoint.send(payload, self.clock.mono_ns())
        now_ns = self.clock.mono_ns()
        for data in self._endpoint.outgoing(now_ns):
            if self.only_frames is not None:
                if self.only_frames == 0:
                    continue
                self.only_frames -= 1
            came.append(Frame(0x7A8, data, self.clock.stamp()))
        return came

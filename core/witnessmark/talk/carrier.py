"""Messages over either port: a `MessageLink` as it is, a `FrameLink` through one ISO 15765-2 endpoint a peer.

Flows in: payloads for a peer, what the link received. Flows out: `Heard`. Rules that hold here: an echo is never a
reply, and neither is a request of ours that comes back; a request of another tester is told as `OtherRequest`, on
identifiers that nobody named once it is answered; each
frame sent is told as `Out`, so that the record holds it; link failures pass through as LinkError.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from witnessmark.clock import Clock, Stamp
from witnessmark.errors import PeerError
from witnessmark.link.frame import Event, Frame, Message, Peer
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.talk.overheard import Overheard
from witnessmark.wire.can_id import is_request
from witnessmark.wire.isotp.address import Address
from witnessmark.wire.isotp.endpoint import Endpoint
from witnessmark.wire.isotp.indication import Failed, FirstFrameSeen, Indication, Received, Sent
from witnessmark.wire.isotp.settings import Settings
from witnessmark.wire.uds.head import head


@dataclass(frozen=True, slots=True)
class Out:
    """One frame or message was handed to the link. `last`: the whole request has left with it."""

    peer: Peer
    raw: bytes
    stamp: Stamp
    last: bool = False


@dataclass(frozen=True, slots=True)
class Begun:
    """The first part of an answer was seen. `watched`: `Broken` follows if the rest does not come."""

    peer: Peer
    stamp: Stamp
    watched: bool


@dataclass(frozen=True, slots=True)
class Broken:
    """A message ended early: `sending` ours, else an answer. `raw` holds what there was of it."""

    peer: Peer
    stamp: Stamp
    reason: str
    sending: bool
    raw: tuple[bytes, ...] = ()


@dataclass(frozen=True, slots=True)
class OtherRequest:
    """A request, or a part of one, that another tester sent to a control unit."""

    stamp: Stamp
    raw: bytes
    target: int


@dataclass(frozen=True, slots=True)
class AlsoAnswered:
    """A unit that was not asked answered a request of ours to one unit: its identifier is listened to by several."""

    stamp: Stamp
    source: int


Heard = Message | Event | Out | Begun | Broken | OtherRequest | AlsoAnswered


class Carrier(Protocol):
    """What the conversation needs of a link."""

    def expect(self, peer: Peer) -> None:
        """Get ready to hear `peer`."""
        ...

    def send(self, peer: Peer, payload: bytes) -> list[Heard]: ...

    def busy(self, peer: Peer) -> bool:
        """Whether a request to `peer` is still on its way out."""
        ...

    def drop(self, peer: Peer) -> list[Heard]:
        """Give up what is on its way out to `peer`: no further frame of it leaves."""
        ...

    def receive(self, wait_s: float) -> list[Heard]: ...

    def deadline_ns(self) -> int | None: ...


def carrier(link: FrameLink | MessageLink, clock: Clock) -> Carrier:
    """Return the carrier for either port."""
    return MessageCarrier(link) if isinstance(link, MessageLink) else FrameCarrier(link, clock)


class MessageCarrier:
    """The interface or its protocol does the framing."""

    def __init__(self, link: MessageLink) -> None:
        self._link = link
        self._awake: set[Peer] = set()

    def expect(self, peer: Peer) -> None:
        """Nothing to prepare: the link tells every message."""

    def send(self, peer: Peer, payload: bytes) -> list[Heard]:
        heard: list[Heard] = []
        if peer not in self._awake:
            heard.extend(self._link.wake(peer))
            self._awake.add(peer)
        return [*heard, Out(peer, payload, self._link.send(peer, payload), last=True)]

    def busy(self, peer: Peer) -> bool:
        return False

    def drop(self, peer: Peer) -> list[Heard]:
        return []

    def receive(self, wait_s: float) -> list[Heard]:
        return [heard for one in self._link.receive(wait_s) if (heard := self._sort(one)) is not None]

    def deadline_ns(self) -> int | None:
        return None

    def _sort(self, one: Message | Event) -> Heard | None:
        if isinstance(one, Event):
            if one.kind == "begun" and one.peer is not None:
                return Begun(one.peer, one.stamp, watched=False)
            return one
        if one.origin != "received":
            return None
        return OtherRequest(one.first, one.payload, one.peer.target) if _asks(one.payload) else one


class FrameCarrier:
    """The core does the framing: ISO 15765-2, normal addressing."""

    def __init__(self, link: FrameLink, clock: Clock) -> None:
        self._link = link
        self._clock = clock
        self._settings = _settings(clock.rate)
        self._endpoints: dict[Peer, Endpoint] = {}
        self._by_answer: dict[tuple[int, bool], Peer] = {}
        self._requests: set[tuple[int, bool]] = set()
        self._overheard = Overheard()
        self._first: dict[Peer, Stamp] = {}
        self._active: set[Peer] = set()
        """Those with something going on; only they have a deadline, a timer or a frame that is due."""
        self._place: dict[Peer, int] = {}

    def expect(self, peer: Peer) -> None:
        if peer in self._endpoints:
            return
        source = peer.target if peer.source is None else peer.source
        self._endpoints[peer] = Endpoint(Address(peer.target, source, peer.extended), self._settings)
        self._place[peer] = len(self._place)
        self._requests.add((peer.target, peer.extended))
        if peer.source is not None:
            self._by_answer[peer.source, peer.extended] = peer

    def send(self, peer: Peer, payload: bytes) -> list[Heard]:
        self.expect(peer)
        endpoint = self._endpoints[peer]
        endpoint.send(payload, self._clock.mono_ns(), functional=peer.functional)
        self._active.add(peer)
        return list(self._flush(peer, endpoint))

    def busy(self, peer: Peer) -> bool:
        endpoint = self._endpoints.get(peer)
        return endpoint is not None and endpoint.sending

    def drop(self, peer: Peer) -> list[Heard]:
        endpoint = self._endpoints[peer]
        self._active.add(peer)
        stamp = self._clock.stamp()
        return list(self._translate(peer, endpoint.reset(stamp.mono_ns), stamp))

    def receive(self, wait_s: float) -> list[Heard]:
        heard: list[Heard] = []
        for one in self._link.receive(wait_s):
            heard += [one] if isinstance(one, Event) else self._take(one)
        stamp = self._clock.stamp()
        for peer in sorted(self._active, key=self._place.__getitem__):
            endpoint = self._endpoints[peer]
            heard += self._translate(peer, endpoint.tick(stamp.mono_ns), stamp)
            heard += self._flush(peer, endpoint)
            if endpoint.deadline_ns() is None:
                self._active.discard(peer)
        return heard

    def deadline_ns(self) -> int | None:
        moments = [self._endpoints[peer].deadline_ns() for peer in self._active]
        return min((moment for moment in moments if moment is not None), default=None)

    def _take(self, frame: Frame) -> list[Heard]:
        if frame.origin != "received" or frame.kind != "data":
            return []
        identifier = (frame.can_id, frame.extended)
        if identifier in self._requests or is_request(*identifier):
            return [OtherRequest(frame.stamp, frame.data, frame.can_id)]
        peer = self._by_answer.get(identifier)
        if peer is None:
            asked = self._overheard.hear(frame)
            if asked is not None and asked.origin == "sent":
                return [AlsoAnswered(frame.stamp, frame.can_id)]
            return [] if asked is None else [OtherRequest(asked.stamp, asked.data, asked.can_id)]
        self._active.add(peer)
        told = self._endpoints[peer].receive(frame.data, frame.stamp.mono_ns)
        return list(self._translate(peer, told, frame.stamp))

    def _translate(self, peer: Peer, told: list[Indication], stamp: Stamp) -> Iterator[Heard]:
        for one in told:
            if isinstance(one, FirstFrameSeen):
                self._first[peer] = stamp
                yield Begun(peer, stamp, watched=True)
            elif isinstance(one, Received):
                first = self._first.pop(peer, stamp)
                yield Message(peer, one.payload, first, stamp, one.frames)
            elif isinstance(one, Failed):
                if one.role == "receive":
                    self._first.pop(peer, None)
                yield Broken(peer, stamp, one.reason, one.role == "send", one.frames or ((one.raw,) if one.raw else ()))

    def _flush(self, peer: Peer, endpoint: Endpoint) -> Iterator[Heard]:
        frames = endpoint.outgoing(self._clock.mono_ns())
        for index, data in enumerate(frames, 1):
            stamp = self._link.send(Frame(peer.target, data, self._clock.stamp(), "sent", peer.extended))
            if not peer.functional:
                self._overheard.hear(Frame(peer.target, data, stamp, "sent", peer.extended))
            told = endpoint.tick(stamp.mono_ns) if index == len(frames) else []
            yield Out(peer, data, stamp, last=any(isinstance(one, Sent) for one in told))
            yield from self._translate(peer, told, stamp)


def _settings(rate: int) -> Settings:
    """The standard's timeouts in real time: on a clock that runs faster, a real delay is as much longer."""
    at = Settings()
    return Settings(
        n_as_ns=at.n_as_ns * rate,
        n_ar_ns=at.n_ar_ns * rate,
        n_bs_ns=at.n_bs_ns * rate,
        n_cs_ns=at.n_cs_ns * rate,
        n_cr_ns=at.n_cr_ns * rate,
    )


def _asks(payload: bytes) -> bool:
    try:
        return not head(payload).is_response
    except PeerError:
        return False

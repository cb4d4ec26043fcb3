"""K-line as a `MessageLink`.

In: payloads for a node address; bytes of the line. Out: messages and events. Rules: a unit is woken before its first
request and again when the line was quiet longer than P3 allows; P3 passes before each request; who keeps the session
alive is the core, which `keepalive_s` tells how long it may wait; what has a wrong sum is garbled and kept. No
descriptor is shown: without a length only time ends a message, and the core has to ask.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence

from witnessmark.plugin import Capabilities, Clock, Event, LinkError, LocalError, Message, Peer, Stamp
from witnessmark.wire import kline
from witnessmark_kline.line_driver import LineDriver
from witnessmark_kline.speech import NS, Speech
from witnessmark_kline.timing import P3_LEAST_S, P3_MOST_S
from witnessmark_kline.wakeup import Awake, fast_init, five_baud_init

REQUEST, REQUEST_TARGET = 0x68, 0x6A
"""ISO 9141-2: the header of a request, and its functional target."""
LONGEST, LONGEST_EXCEPTION = 255, 7
QUIET_MOST_S = 2.0
"""How long to wait for a line that others keep busy. Common practice, no source."""


class KlineLink:
    """One line. `gap_s` is how long a sender may pause inside a message."""

    def __init__(
        self,
        line: LineDriver,
        clock: Clock,
        *,
        init: str = "fast",
        echo: bool = True,
        tester: int = 0xF1,
        gap_s: float = 0.022,
        baud: int = 10400,
        listen_only: bool = False,
    ) -> None:
        self.capabilities = Capabilities(
            listen="silent",
            can_send=not listen_only,
            half_duplex=True,
            max_payload=LONGEST,
            min_gap_s=P3_LEAST_S,
            keepalive_s=P3_MOST_S,
        )
        self._line = line
        self._clock = clock
        self._init = init
        self._tester = tester
        self._gap_ns = round(gap_s * NS)
        self._speech = Speech(line, clock, echo, 10 / baud)
        self._stream = kline.Stream()
        self._awake: tuple[Peer, Awake] | None = None
        self._asked: Peer | None = None
        self._begun: Stamp | None = None
        self._kept: list[Message | Event] = []
        self._lost: LinkError | None = None
        self._told_lost = False
        self._closed = False
        self._lock = threading.RLock()

    def fileno(self) -> int | None:
        return None

    def interrupt(self) -> None:
        self._line.interrupt()

    def close(self) -> None:
        self._closed = True
        self._line.interrupt()
        with self._lock:  # whoever waits has left when this is ours
            self._line.close()

    def wake(self, peer: Peer) -> Sequence[Event]:
        """Wake `peer` unless it is awake; tell its key bytes as `accepted`. Raises LinkError as the initialisations."""
        with self._lock:
            self._check_may_send()
            self._check_address(peer)
            if self._awake is not None and self._awake[0] == peer and not self._lapsed():
                return []
            self._awake = None
            try:
                awake = self._wake(peer)
            except LinkError as error:
                self._note(error)
                raise
            self._awake = (peer, awake)
            self._stream, self._begun = kline.Stream(), None
            if awake.key_bytes is None:
                return []
            told = f"key bytes {awake.key_bytes[0]:02X} {awake.key_bytes[1]:02X}, header {awake.form}"
            return [Event("accepted", self._clock.stamp(), awake.raw, told, peer)]

    def send(self, peer: Peer, payload: bytes) -> Stamp:
        """Send one request, after P3; wake the unit first where it sleeps.

        Raises LocalError for what does not fit (nothing was sent), LinkError when the line does not carry it.
        """
        with self._lock:
            self._check_may_send()
            if not 1 <= len(payload) <= self.capabilities.max_payload:
                raise LocalError(f"a K-line request of {len(payload)} bytes", hint="send between 1 and 255 bytes")
            self.wake(peer)
            assert self._awake is not None
            request = self._encode(peer, payload, self._awake[1])
            try:
                self._wait_for_quiet()
                self._speech.say(request)
            except LinkError as error:
                self._note(error)
                raise
            self._asked = peer
            return self._clock.stamp()

    def receive(self, wait_s: float) -> Sequence[Message | Event]:
        """Return what came, after at most `wait_s`. Raises LinkError once `lost` has been told."""
        with self._lock:
            if self._closed:
                raise LocalError("this link is closed", hint="open it again")
            if self._lost is not None and self._told_lost:
                raise self._lost
            try:
                return self._take(wait_s) if self._lost is None else [self._tell_lost(self._lost)]
            except LinkError as error:
                self._lost = error
                return [self._tell_lost(error)]

    def _take(self, wait_s: float) -> list[Message | Event]:
        """Wait for bytes, but no longer than until the line's quiet ends the message that has begun."""
        came, self._kept = self._kept, []
        wait_s = 0.0 if came else wait_s * self._clock.rate
        if self._stream.rest:
            wait_s = min(wait_s, max(0, self._quiet_ns() - self._clock.mono_ns()) / NS)
        heard = self._speech.hear(wait_s)
        if heard:
            came += self._take_in(heard)
        elif self._stream.rest and self._clock.mono_ns() >= self._quiet_ns():
            came += self._read(self._stream.idle())
        return came

    def _take_in(self, heard: bytes) -> list[Message | Event]:
        came: list[Message | Event] = []
        began = not self._stream.rest
        stamp = self._clock.stamp()
        if began:
            self._begun = stamp
        found = self._stream.feed(heard)
        came += self._read(found)
        if self._stream.rest and (found or began):
            self._begun = stamp
            came.append(Event("begun", stamp, self._stream.rest, "first bytes", self._asked))
        return came

    def _wait_for_quiet(self) -> None:
        """Let P3 pass; what comes meanwhile is kept for `receive`, so that it is never mistaken for our echo."""
        end_ns = self._clock.mono_ns() + round(QUIET_MOST_S * NS)
        while True:
            left_ns = self._speech.last_ns + round(P3_LEAST_S * NS) - self._clock.mono_ns()
            heard = self._speech.hear(max(left_ns, 0) / NS)
            if heard:
                self._kept += self._take_in(heard)
            elif left_ns <= 0:
                return
            if self._clock.mono_ns() > end_ns:
                raise LinkError(
                    "the line is never quiet, so nothing was sent",
                    kind="busy",
                    hint="another tester speaks, or the cable is disturbed",
                    reached="nothing",
                )

    def _read(self, found: Sequence[kline.Message | kline.Broken]) -> list[Message | Event]:
        now = self._clock.stamp()
        told: list[Message | Event] = []
        for one in found:
            if isinstance(one, kline.Broken):
                told.append(Event("garbled", now, one.raw, one.reason.replace("_", " "), self._asked))
            else:
                told.append(Message(self._sender(one), one.data, self._begun or now, now, (one.raw,)))
        return told

    def _sender(self, one: kline.Message) -> Peer:
        """Whose message it is: of whom we asked where it says so or says nothing, else of whom it names."""
        asked = self._asked
        if one.source is None:
            return Peer(0, None) if asked is None else Peer(asked.target, asked.source)
        if one.target not in (self._tester, None) and one.form != "exception":
            return Peer(one.target or 0, one.source)
        if asked is not None and not asked.functional and asked.source == one.source:
            return asked
        return Peer(one.source, one.source)

    def _encode(self, peer: Peer, payload: bytes, awake: Awake) -> bytes:
        if awake.form == "exception":
            if not peer.functional:
                raise LocalError(
                    "by ISO 9141-2 every request reaches all units, and this one is meant for one",
                    hint="ask all of them (33); what makes a unit act needs one that knows ISO 14230",
                )
            if len(payload) > LONGEST_EXCEPTION:
                raise LocalError(f"{len(payload)} bytes are too many for ISO 9141-2", hint="at most 7 bytes")
            return kline.encode_exception(REQUEST, REQUEST_TARGET, self._tester, payload)
        if awake.form == "none":
            return kline.encode(payload, length_byte=awake.length_byte)
        return kline.encode(
            payload,
            target=peer.target,
            source=self._tester,
            functional=peer.functional,
            length_byte=awake.length_byte,
        )

    def _wake(self, peer: Peer) -> Awake:
        if self._init == "fast":
            return fast_init(self._speech, peer.target, self._tester, peer.functional)
        if self._init == "5baud":
            return five_baud_init(self._speech, peer.target)
        return Awake("addresses")

    def _lapsed(self) -> bool:
        """Whether the line was quiet so long that the session is over."""
        return self._init != "none" and self._clock.mono_ns() - self._speech.last_ns > P3_MOST_S * NS

    def _quiet_ns(self) -> int:
        """When the line's quiet ends the message that has begun."""
        framed = kline.FORMS[self._stream.rest[0] >> 6] != "exception"
        return self._speech.last_ns + self._gap_ns * (5 if framed else 1)  # a length ends it sooner anyway

    def _check_may_send(self) -> None:
        if self._closed or not self.capabilities.can_send:
            why = "is closed" if self._closed else "only listens"
            raise LocalError(f"this link {why}", hint="open it without listen-only to send")
        if self._lost is not None:
            raise self._lost

    def _check_address(self, peer: Peer) -> None:
        if not 0 <= peer.target <= 0xFF:
            raise LocalError(
                f"{peer.target:X} is no K-line address", hint="K-line addresses are one byte: 33 asks all, 10 an engine"
            )

    def _note(self, error: LinkError) -> None:
        """Remember that the cable is gone; any other failure leaves it usable, with the unit asleep."""
        self._awake = None
        if error.kind == "gone":
            self._lost = error

    def _tell_lost(self, error: LinkError) -> Event:
        self._told_lost = True
        return Event("lost", self._clock.stamp(), self._stream.rest, error.what)

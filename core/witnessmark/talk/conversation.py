"""The one owner of the wire: requests out, answers matched, tester present kept up, other testers noticed.

Flows in: requests, the time, what the link received. Flows out: `News`: exchanges that ended, messages nobody asked
for, events, requests of another tester. Rules that hold here:

- one request at a time; only an `urgent` one (a stop) may leave while another is open, and it drops what is half sent
  and what has not left yet;
- after a silence the service and identifier are set aside until P2* has passed: asking the same again is refused, an
  urgent request goes out and its answers are `ambiguous`, and what still comes is `late`;
- what keeps a session leaves in the same loop, never while an answer is awaited;
- a link that is gone ends every open exchange as `lost`, and nothing is sent after that; an interface that is there but
  did not take a request loses that one.

A select loop calls `pump` when `fileno` is readable or `deadline_ns` has come; `ask` does the same for simple uses.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from witnessmark.clock import NS, Clock
from witnessmark.errors import LinkError, LocalError, PeerError
from witnessmark.link.frame import Event, Message, Peer
from witnessmark.link.guard import BROKEN
from witnessmark.link.port import FrameLink, MessageLink, TakesTurns
from witnessmark.talk.carrier import AlsoAnswered, Begun, Broken, Heard, OtherRequest, Out, carrier
from witnessmark.talk.exchange import Exchange, Key, also_answers, fits, key_of
from witnessmark.talk.keepalive import KeepAlive
from witnessmark.talk.news import News, Unasked
from witnessmark.talk.timing import FLOOR_REAL_S, Latency, Timing

SLICE_REAL_S = 0.005
"""The longest wait in one go on a link without a descriptor."""
LONGEST_S = 30.0
"""The outer bound of one request that nothing else ends, on the clock's time. No source."""


class Conversation:
    """One conversation over one link. `failure` is why the link is lost, None while it is not.

    `other_tester_ns` is when another tester was last heard, `also_answered_ns` when a unit answered that was not asked.
    `broken` is how the link's plugin broke: it may still carry a stop, and is used for nothing new.
    """

    def __init__(self, link: FrameLink | MessageLink, clock: Clock, *, floor_real_s: float = FLOOR_REAL_S) -> None:
        self.link = link
        self.clock = clock
        self.latency = Latency(clock.rate, floor_real_s)
        self.failure: LinkError | None = None
        self.broken: LinkError | None = None
        self.other_tester_ns: int | None = None
        self.also_answered_ns: int | None = None
        self._turns = link if isinstance(link, TakesTurns) else None
        self._carrier = carrier(link, clock)
        self._open: list[Exchange] = []
        self._aside: dict[tuple[Key, bytes], int] = {}
        self._keepalive: KeepAlive | None = None
        self._kept: KeepAlive | None = None
        self._last_left_ns: int | None = None
        self._queue: list[Exchange] = []
        self._news: list[News] = []
        self._bounds: dict[Exchange, int] = {}
        self._asked: deque[Exchange] = deque(maxlen=8)

    def fileno(self) -> int | None:
        """A descriptor to wait on; None: call `pump` every `SLICE_REAL_S`."""
        return self.link.fileno()

    def expect(self, peer: Peer) -> None:
        """Get ready to hear `peer`, and other testers that speak to it."""
        self._carrier.expect(peer)

    def begin(
        self,
        peer: Peer,
        payload: bytes,
        timing: Timing | None = None,
        *,
        budget_s: float | None = None,
        urgent: bool = False,
    ) -> Exchange:
        """Send a request as soon as the link allows and return its exchange, which `pump` carries to its end.

        `budget_s` bounds a unit that goes on answering 0x78. Whatever goes on P2* after that, or `LONGEST_S` where no
        budget is given, is given up. Raises LocalError, sending nothing, while another request is open or its key is
        set aside, unless `urgent`, and when the link cannot carry it. A link that fails makes the exchange `lost`,
        never an error.
        """
        now_ns = self.clock.mono_ns()
        aside = self.set_aside_ns(peer, payload)
        if any(one.open for one in self._open) and not urgent:
            raise LocalError("a request is open", hint="wait for its end")
        if aside is not None and not urgent:
            raise LocalError(
                "the same request just ended in silence, and a late answer could not be told apart",
                hint=f"ask again in {(aside - now_ns) / NS:.1f} s",
            )
        unsure = aside is not None or any(
            one.key == key_of(peer, payload) and one.payload == payload for one in self._open
        )
        timing = timing or Timing()
        bound_s = LONGEST_S if budget_s is None else budget_s + timing.p2_star_s
        exchange = Exchange(peer, payload, timing, added_ns=self.latency.added_ns, budget_s=budget_s, unsure=unsure)
        self._bounds[exchange] = now_ns + round(bound_s * NS) + self.latency.added_ns
        if urgent:
            self._drop_queued()
        self._open.append(exchange)
        self._queue.append(exchange)
        if urgent and self.failure is None:
            self.link.interrupt()
            if self._carrier.busy(peer):
                self._hand_over(lambda: self._carrier.drop(peer))
        try:
            self._send_due()
        except LocalError:
            self._open.remove(exchange)
            del self._bounds[exchange]
            raise
        return exchange

    def _drop_queued(self) -> None:
        """End what has not left yet: nothing leaves before a stop that was asked for earlier than the stop."""
        for exchange in self._queue:
            exchange.lost(self.clock.mono_ns())
        self._queue.clear()

    def pump(self, wait_real_s: float = 0.0) -> list[News]:
        """Receive, let time pass, send what is due. Return what came of it, in order."""
        if self.failure is None:
            self._receive(wait_real_s)
        self._tick()
        try:
            self._send_due()
            self._keep_alive_due()
        except LocalError as error:  # refused when its turn came: whoever asked has gone on long ago
            self._not_taken(error)
        self._collect()
        news = self._news.copy()
        self._news.clear()
        return news

    def deadline_ns(self) -> int | None:
        """When `pump` next has something to do by itself, on the clock's monotonic time."""
        moments = [self._carrier.deadline_ns(), *(one.deadline_ns() for one in self._open), *self._bounds.values()]
        if self._keepalive is not None and not self._open and self.failure is None:
            due_ns = self._keepalive.due_ns()
            moments.append(due_ns if self._free() else max(due_ns, self.clock.mono_ns() + self._slice_ns()))
        if self._queue:
            moments.append(self._may_send_ns() if self._free() else self.clock.mono_ns() + self._slice_ns())
        return min((moment for moment in moments if moment is not None), default=None)

    def ask(
        self,
        peer: Peer,
        payload: bytes,
        timing: Timing | None = None,
        *,
        budget_s: float | None = None,
        longest_s: float = LONGEST_S,
        interrupted: Callable[[], bool] = lambda: False,
    ) -> Exchange:
        """Send a request and wait for its end, or until `interrupted` says so (then the exchange is still open).

        What has not ended after `longest_s` is given up: a unit that answers 0x78 for ever, a link that says nothing.
        Raises what `begin` raises. What else came meanwhile is dropped: use `begin` and `pump` where it matters.
        """
        bound_ns = self.clock.mono_ns() + round(longest_s * NS)
        exchange = self.begin(peer, payload, timing, budget_s=budget_s)
        while exchange.open and not interrupted():
            now_ns = self.clock.mono_ns()
            if now_ns >= bound_ns:
                self.give_up(exchange)
                break
            due_ns = min(one for one in (self.deadline_ns(), bound_ns) if one is not None)
            self.pump(min(SLICE_REAL_S, max(0.0, self.clock.real_s((due_ns - now_ns) / NS))))
        return exchange

    def give_up(self, exchange: Exchange) -> None:
        """End an exchange that nothing else ends; no further frame of it leaves. `pump` tells it as ended."""
        if exchange.left is None and exchange not in self._queue and self._carrier.busy(exchange.peer):
            self._hand_over(lambda: self._carrier.drop(exchange.peer))
        exchange.give_up(self.clock.mono_ns())
        self._collect()

    def keep_alive(self, peer: Peer, timing: Timing | None = None) -> KeepAlive:
        """Begin to keep the session of `peer` by the request that `timing` names, until `end_keep_alive`.

        Twice within S3 and within what the interface allows, if that is sooner than the standard's time. Raises
        LocalError for a request that keeps no session.
        """
        timing = timing or Timing()
        limits_s = [timing.s3_s]
        if (allowed_s := self.link.capabilities.keepalive_s) is not None:
            limits_s.append(allowed_s * self.clock.rate)
        self._keepalive = self._kept = KeepAlive(peer, self.clock.mono_ns(), timing.keep_alive, min(limits_s) / 2)
        return self._keepalive

    def end_keep_alive(self) -> KeepAlive | None:
        """Send no more of it; return what was sent."""
        ended, self._keepalive = self._keepalive, None
        return ended

    def set_aside_ns(self, peer: Peer, payload: bytes) -> int | None:
        """Until when asking this is refused because the same ended in silence; None when it may be asked."""
        now_ns = self.clock.mono_ns()
        self._aside = {held: until for held, until in self._aside.items() if until > now_ns}
        key = key_of(peer, payload)
        return max((until for (held, _), until in self._aside.items() if held == key), default=None)

    # From here on: what the pump does.

    def _receive(self, wait_real_s: float) -> None:
        try:
            self._hear(self._carrier.receive(wait_real_s))
        except LinkError as error:
            if error.kind != BROKEN:
                self._fail(error)
                return
            self.broken = error
            self._news.append(Event("garbled", self.clock.stamp(), detail=str(error)))

    def _hand_over(self, act: Callable[[], list[Heard]]) -> None:
        """Send something. An interface that is there but did not take it loses this request, not the link."""
        try:
            self._hear(act())
        except LinkError as error:
            if error.kind == "gone":
                self._fail(error)
                return
            self.broken = error if error.kind == BROKEN else self.broken
            self._not_taken(error)

    def _not_taken(self, error: LinkError | LocalError) -> None:
        stamp = self.clock.stamp()
        self._news.append(Event("refused", stamp, detail=str(error)))
        for exchange in self._open:
            if exchange.left is None and exchange not in self._queue:
                exchange.reached = error.reached if exchange.reached == "nothing" else exchange.reached
                exchange.lost(stamp.mono_ns)

    def _fail(self, error: LinkError) -> None:
        self.failure = error
        stamp = self.clock.stamp()
        self._news.append(Event("lost", stamp, detail=str(error)))
        for exchange in self._open:
            if exchange.left is None and exchange not in self._queue and exchange.reached == "nothing":
                exchange.reached = error.reached
            exchange.lost(stamp.mono_ns)
        self._queue.clear()

    def _may_send_ns(self) -> int:
        gap_ns = round(self.link.capabilities.min_gap_s * self.clock.rate * NS)
        return 0 if self._last_left_ns is None else self._last_left_ns + gap_ns

    def _free(self) -> bool:
        return self._turns is None or self._turns.free()

    def _slice_ns(self) -> int:
        return round(SLICE_REAL_S * self.clock.rate * NS)

    def _send_due(self) -> None:
        while self._queue and self.failure is None and self.clock.mono_ns() >= self._may_send_ns() and self._free():
            exchange = self._queue.pop(0)
            self._hand_over(lambda one=exchange: self._carrier.send(one.peer, one.payload))  # type: ignore[misc]
        if self.failure is not None:
            for exchange in self._open:
                exchange.lost(self.clock.mono_ns())
            self._queue.clear()

    def _keep_alive_due(self) -> None:
        keep = self._keepalive
        if keep is None or self._open or self.failure is not None or self.clock.mono_ns() < keep.due_ns():
            return
        if self.clock.mono_ns() >= self._may_send_ns() and self._free():
            before = len(keep.moments)
            try:
                self._hand_over(lambda: self._carrier.send(keep.peer, keep.request))
            finally:
                if len(keep.moments) == before:
                    keep.failed(self.clock.mono_ns())

    def _hear(self, heard: list[Heard]) -> None:
        for one in heard:
            if isinstance(one, Message):
                self._message(one)
            elif isinstance(one, Out):
                self._out(one)
            elif isinstance(one, Begun):
                for exchange in self._of(one.peer):
                    exchange.answer_begun(one.peer.source, one.stamp.mono_ns, watched=one.watched)
                    self._round_trip(exchange, one.stamp.mono_ns)
            elif isinstance(one, Broken):
                self._broken(one)
            elif isinstance(one, AlsoAnswered):
                self.also_answered_ns = one.stamp.mono_ns
            elif isinstance(one, OtherRequest):
                self.other_tester_ns = one.stamp.mono_ns
                self._news.append(one)
            else:
                self._event(one)

    def _out(self, out: Out) -> None:
        unsent = [one for one in self._open if one.left is None and one not in self._queue and one.peer == out.peer]
        if unsent:
            exchange = unsent[-1]
            exchange.raw.append(out.raw)
            exchange.reached = "maybe"
            if out.last:
                exchange.begun(out.stamp)
                self._asked.append(exchange)
                self._last_left_ns = out.stamp.mono_ns
        elif self._open:
            self._open[-1].raw.append(out.raw)
        elif self._keepalive is not None and out.last:
            self._keepalive.left(out.stamp.mono_ns)
            self._last_left_ns = out.stamp.mono_ns

    def _message(self, message: Message) -> None:
        if any(also_answers(one, message) for one in self._asked):
            self.also_answered_ns = message.last.mono_ns
        waiting = [one for one in self._open if one.left is not None]
        same_service = {one.asked.service for one in waiting}
        only = len(same_service) == len(waiting)
        for exchange in reversed(waiting):
            if (verdict := exchange.receive(message, only=only)) is not None:
                for other in waiting if verdict == "pending" and not only else ():
                    if other is not exchange:
                        other.may_be_pending(message)
                self._round_trip(exchange, message.first.mono_ns)
                self._not_for_others(message, exchange)
                return
        if self._kept is not None and self._kept.takes(message):
            return
        self._not_for_others(message, None)
        late = self._is_late(message)
        if self._open:
            self._open[-1].keep(message, "late" if late else "foreign")
        else:
            self._news.append(Unasked(message, late))

    def _not_for_others(self, message: Message, taken_by: Exchange | None) -> None:
        for exchange in self._open:
            if exchange is not taken_by:
                exchange.answer_was_other(message.peer.source, message.last.mono_ns)

    def _broken(self, broken: Broken) -> None:
        for exchange in self._of(broken.peer):
            if broken.sending and exchange.left is None and exchange not in self._queue:
                exchange.lost(broken.stamp.mono_ns)
            elif not broken.sending:
                exchange.answer_failed(broken.peer.source, broken.raw, broken.stamp)
        detail = f"{broken.reason} while {'sending' if broken.sending else 'receiving'}"
        self._news.append(Event("garbled", broken.stamp, b"".join(broken.raw), detail, broken.peer))

    def _event(self, event: Event) -> None:
        self._news.append(event)
        if event.kind == "lost":
            self._fail(LinkError(event.detail or "the interface is gone", kind="gone", hint="check plug and cable"))
            self._news.pop()
        elif event.kind == "refused":
            for exchange in self._open:
                if event.peer in (None, exchange.peer) and not exchange.replies:
                    exchange.lost(event.stamp.mono_ns)

    def _of(self, peer: Peer) -> list[Exchange]:
        return [one for one in self._open if one.peer.functional or one.peer == peer]

    def _is_late(self, message: Message) -> bool:
        now_ns = self.clock.mono_ns()
        target = message.peer.target
        held = [payload for (key, payload), until in self._aside.items() if until > now_ns and key[0] == target]
        try:
            return any(fits(payload, message.payload) for payload in held)
        except PeerError:
            return False

    def _round_trip(self, exchange: Exchange, first_sign_ns: int) -> None:
        if exchange.left is not None:
            self.latency.saw(max(0, first_sign_ns - exchange.left.mono_ns))

    def _tick(self) -> None:
        now_ns = self.clock.mono_ns()
        for exchange in list(self._open):
            exchange.tick(now_ns)
            if exchange.open and now_ns >= self._bounds[exchange]:
                self.give_up(exchange)

    def _collect(self) -> None:
        for exchange in [one for one in self._open if not one.open]:
            self._open.remove(exchange)
            del self._bounds[exchange]
            if exchange in self._queue:
                self._queue.remove(exchange)
            if exchange.result == "silence" and exchange.ended_ns is not None:
                self._aside[exchange.key, exchange.payload] = exchange.ended_ns + exchange.set_aside_ns
            self._news.append(exchange)

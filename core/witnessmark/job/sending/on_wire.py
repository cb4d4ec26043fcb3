"""An actuation from its start request to its end: the part of its life in which something may be on the wire.

The state of the life and exchanges flow in; requests, and events for the table, flow out. Rules that hold here: the run
counts from the positive answer to the start to the positive answer to the stop, or to the last sign of life; supply
and standstill are read while it runs.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from witnessmark.clock import NS
from witnessmark.errors import LocalError
from witnessmark.job.bay import Bay
from witnessmark.job.sending.actuation import Actuation, Event
from witnessmark.job.sending.outcome import CONTROL_UNIT_REFUSED
from witnessmark.job.sending.stop import Stop
from witnessmark.job.sending.watch import Watch
from witnessmark.job.walk.state import JobState
from witnessmark.mapping.model import WireCommand
from witnessmark.procedure.model import Pass
from witnessmark.talk.exchange import Exchange

Fire = Callable[[Event], None]


class OnWire:
    """Start, watch and stop of one actuation. `fire` lets an event in; `wrong` is why a watched run has to stop.

    `from_ns`, `to_ns` and `heard_ns` (the last sign of life) are monotonic.
    """

    def __init__(
        self, bay: Bay, state: JobState, one: Pass, command: WireCommand, intent: int, life: Actuation, fire: Fire
    ) -> None:
        self.from_ns: int | None = None
        self.to_ns: int | None = None
        self.heard_ns: int | None = None
        self.until_ns: int | None = None
        self.code: int | None = None
        self.why = self.wrong = ""
        self._bay = bay
        self._state = state
        self._pass = one
        self._command = command
        self._intent = intent
        self._life = life
        self._fire = fire
        self._start: Exchange | None = None
        self._stop: Stop | None = None
        self._watch: Watch | None = None

    @property
    def open(self) -> bool:
        """Whether the start request may still be answered."""
        return self._start is not None and self._start.open

    @property
    def stop_sent(self) -> bool:
        return self._stop is not None and self._stop.sent

    def send_start(self, payload: bytes) -> None:
        """Send the start request."""
        bay, budget_s = self._bay, self._command.budget_ms / 1000
        if bay.talk.broken is not None:  # it broke a moment ago: nothing is begun on such a link
            self.why = f"the start request did not leave: {bay.talk.broken}"
            self._fire("negative")
            return
        try:
            self._start = bay.talk.begin(bay.peer, payload, bay.timing, budget_s=budget_s)
        except LocalError as error:
            self.why = f"the start request did not leave: {error.what}"
            self._fire("negative")

    def begin_clock(self, run_s: Decimal) -> None:
        """Count from the positive answer, and watch."""
        assert self.from_ns is not None
        self.until_ns = self.from_ns + round(run_s * NS)
        self._watch = Watch(self._bay, self._state, self._intent, self._pass.id)

    def send_stop(self) -> None:
        """Send the stop request, again and again until it is confirmed or was tried for long enough."""
        self._stop = Stop(
            self._bay,
            bytes.fromhex(self._command.stop),
            self._command.session,
            actuation=self._intent,
            pass_id=self._pass.id,
            for_s=self._command.budget_ms / 1000 + self._bay.timing.p2_star_s,
            settled=lambda: not self.open,
        )

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of these."""
        signs = [one.last.mono_ns for one in exchange.replies if one.source in (None, self._bay.peer.source)]
        self.heard_ns = max([*signs, self.heard_ns or 0]) or None
        if exchange is self._start:
            self._start_ended(exchange)
        elif self._stop is not None and self._stop.ended(exchange):
            self._look_at_stop()
        elif self._watch is not None and self._watch.ended(exchange):
            self.wrong = self._watch.wrong
        else:
            return False
        return True

    def tick(self, now_ns: int) -> None:
        """Let time pass."""
        if self._stop is not None and self._life.state == "stopping":
            self._stop.tick(now_ns)
            self._look_at_stop()
        if self._watch is not None and self._life.state == "running":
            self._watch.tick(now_ns, self.until_ns)

    def deadline_ns(self) -> int | None:
        """When `tick` next has something to do."""
        moments = [self.until_ns if self._life.state == "running" else None]
        if self._stop is not None:
            moments.append(self._stop.deadline_ns())
        if self._watch is not None and self._life.state == "running":
            moments.append(self._watch.deadline_ns())
        return min((one for one in moments if one is not None), default=None)

    def _start_ended(self, exchange: Exchange) -> None:
        self._bay.record.exchange(
            exchange, "start", actuation=self._intent, pass_id=self._pass.id, shows_pending=self._bay.shows_pending
        )
        if exchange.result == "positive" and exchange.answer is not None:
            self.from_ns = exchange.answer.last.mono_ns
        if self._life.state != "starting":
            return
        if exchange.result == "positive":
            self._fire("positive")
        elif exchange.result == "negative" or exchange.reached == "nothing":
            self.code = exchange.code
            self.why = CONTROL_UNIT_REFUSED if exchange.code is not None else "the start request did not leave"
            self._fire("negative")
        else:
            self.why = f"no answer to the start ({exchange.expired})"
            self._fire("lost" if self._bay.talk.failure is not None else "silence")

    def _look_at_stop(self) -> None:
        assert self._stop is not None
        if self._life.state != "stopping" or self._stop.status == "waiting":
            return
        if self._stop.status == "confirmed" and self._stop.answer is not None:
            self.to_ns = self._stop.answer.last.mono_ns
            self._fire("positive")
        else:
            self.code = self._stop.code
            self._fire("lost" if self._stop.status == "lost" else "gave_up")

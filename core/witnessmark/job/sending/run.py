"""One actuation from the check to its outcome: takes the actions of the transition table.

Flows in: what the loop hears (exchanges, tickets, time, stop). Flows out: requests, entries, what the face is told.
Rules that hold here are those of `actuation`; besides: a run is ended by us when its time is up, or by a silent control
unit, a vehicle that moves, a machine that slept meanwhile. From the intent on disk to the start request leads
`approach`; what may be on the wire is held by `on_wire`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

from witnessmark.clock import NS
from witnessmark.errors import LocalError, WitnessmarkError
from witnessmark.job import moment
from witnessmark.job.allowed import length, rules
from witnessmark.job.allowed.approval import Withdrawn
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.amount import seconds
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.record import MACHINE
from witnessmark.job.sending import armed, last_word
from witnessmark.job.sending.actuation import MAY_HAVE_LEFT, Action, Actuation, Event
from witnessmark.job.sending.approach import Approach
from witnessmark.job.sending.on_wire import OnWire
from witnessmark.job.sending.outcome import Ending, intent_of, kept_alive, outcome_of, told_of
from witnessmark.job.sending.preflight import Approvals, Held, Looking, Preflight
from witnessmark.job.sending.stop import stop_once
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.mapping.model import WireCommand
from witnessmark.procedure.model import Pass
from witnessmark.talk.exchange import Exchange

LOOK_EVERY_S = 2
"""How often it is looked, while armed, whether it may still be sent: who waits at the start is told, not surprised."""


class Run:
    """One life of an actuation. `ended` when all of it is recorded; `refusal` is why nothing was sent, if so.

    `asked_before` are preconditions answered by a person because they could not be read a moment ago; `first_use` is
    the guarded one of a learned wire command, whose `one` belongs to no pass.
    """

    def __init__(
        self,
        bay: Bay,
        state: JobState,
        one: Pass,
        command: WireCommand,
        answers: Mapping[str, bool],
        approvals: Approvals,
        asked_before: tuple[str, ...] = (),
        first_use: bool = False,
    ) -> None:
        self.life = Actuation()
        self.one = one
        self.command = command
        self.refusal: Refusal | None = None
        self.unrecorded = self.expired = False
        self.asked = self.why = ""
        self.held: Held | None = None
        self._shown: dict[str, str] = {}
        self.intent: int | None = None
        self.first_use = first_use
        self.preflight = Preflight(bay, state, one, command, answers, approvals, first_use)
        self._bay = bay
        self._awake = moment.Awake(bay.clock)
        self._state = state
        self._answers = dict(answers)
        self._approvals = approvals
        self._look = Looking(self.preflight.steps(asked_before), self._looked)
        self.run_s = Decimal(0)
        self._payload = b""
        self._armed_until_ns = self._next_look_ns = 0
        self._intent: Ticket | None = None
        self._approach: Approach | None = None
        self._wire: OnWire | None = None
        self._outcome: Ticket | None = None

    def begin(self) -> None:
        """Begin to check."""
        self._look.go_on()

    @property
    def ended(self) -> bool:
        """Whether nothing is going on any more and all of it is on disk or known not to be."""
        if self.life.state != "ended" or (self._outcome is not None and not self._outcome.done):
            return False
        waits = self._look.waits if isinstance(self._look.waits, Exchange) else None
        return not any(one is not None and one.open for one in (waits, self._approach, self._wire))

    @property
    def from_ns(self) -> int | None:
        """When the control unit answered the start positively, monotonic; None before."""
        return self._wire.from_ns if self._wire is not None else None

    @property
    def shown(self) -> dict[str, str]:
        """What is shown while it is armed, each age as it is now."""
        return armed.aged(self._shown, self._request())

    @property
    def live(self) -> bool:
        """Whether an intent may be on disk and its end is not."""
        return self.life.state not in ("checking", "arming", "armed", "ended")

    # What the loop hears.

    def start(self, state: JobState) -> None:
        """The person at the screen starts. `state` is the job's of now: much may have been said since arming."""
        self._state = state
        self.refusal = rules.refusal(self._request())
        self._fire("start" if self.refusal is None else "refused")

    def stop(self, why: str) -> None:
        """Stop, whoever wants it and wherever it stands."""
        if self.life.state not in ("ended", "stopping"):  # what is being stopped already keeps its own reason
            self.asked = self.asked or why
            self._fire("stop")

    def exchange(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of this run's."""
        if exchange is self._look.waits:
            if self.life.state == "ended":
                self._look.waits = None
                self._bay.record.exchange(
                    exchange, "condition", pass_id=self.one.id, shows_pending=self._bay.shows_pending
                )
            else:
                self._look.go_on()
        elif self._approach is not None and self._approach.ended(exchange):
            pass
        elif self._wire is not None and self._wire.ended(exchange):
            if self._wire.wrong and self.life.state == "running":
                self.stop(self._wire.wrong)
        else:
            return False
        return True

    def ticket(self, ticket: Ticket) -> None:
        """Take in a ticket that has finished."""
        if ticket.error is not None:
            self._not_recorded(ticket)
        elif ticket is self._look.waits and self.life.state != "ended":
            self._look.go_on()
        elif self._approach is not None:
            self._approach.ticket(ticket)

    def tick(self, now_ns: int) -> None:
        """Let time pass."""
        if slept := self._awake.slept():
            self.stop(slept)
        if self._bay.talk.broken is not None:
            self.why = self.why or str(self._bay.talk.broken)
            self.stop(self.why)
        for part in (self._approach, self._wire):
            if part is not None:
                part.tick(now_ns)
        until_ns = self._until()
        if until_ns is None or now_ns < until_ns:
            if self.life.state == "armed" and now_ns >= self._next_look_ns:
                self._look_for_leave(now_ns)
            return
        if self.life.state == "armed":
            self.expired, self.why = True, "not started in time"
            self._fire("expired")
        elif self.life.state == "running":
            self._fire("time_up")

    def lost(self) -> None:
        """The link is gone."""
        self.why = self.why or "the link is lost"
        if self.life.state not in MAY_HAVE_LEFT:
            self.refusal = Refusal("link-lost", "the link is lost", "check plug and cable, then arm again")
        self._fire("lost")

    def last_resort(self) -> None:
        """Send the stop request once, whatever the state: the program is about to fail."""
        stop_once(self._bay, bytes.fromhex(self.command.stop))

    def deadline_ns(self) -> int | None:
        """When `tick` next has something to do."""
        moments = [self._until(), self._wire.deadline_ns() if self._wire is not None else None]
        return min((one for one in moments if one is not None), default=None)

    def _until(self) -> int | None:
        if self.life.state == "running" and self._wire is not None:
            return self._wire.until_ns
        if self.life.state == "cue" and self._approach is not None:
            return self._approach.until_ns
        return self._armed_until_ns if self.life.state == "armed" else None

    # What the table says to do.

    def _fire(self, event: Event) -> None:
        action = self.life.fire(event)
        if action:
            _ACTIONS[action](self)

    def _looked(self, found: Refusal | Held | None) -> None:
        if isinstance(found, Held):
            self.held = found
            self._fire("held")
        else:
            self.refusal = found
            self._fire("refused")

    def _record_armed(self) -> None:
        assert self.held is not None
        now_ns = self._bay.clock.mono_ns()
        self._armed_until_ns = now_ns + armed.holds_for_ns(self._state.procedure)
        self._next_look_ns = now_ns + LOOK_EVERY_S * NS
        request = self._request()
        body = armed.armed_of(request, self.held, self._answers, self._armed_until_ns)
        self._shown = body.shown
        self._bay.record.said(body).then = lambda _: self._fire("synced")

    def _disarm(self) -> None:
        self._bay.record.seen(bodies.Disarmed(pass_id=self.one.id, why=self.asked or self.why))

    def _refuse(self) -> None:
        refusal = self.refusal = self.refusal or Refusal("not-recorded", "it cannot be recorded", "check the disk")
        if self._state.armed is not None or self.life.was == "armed":
            self._bay.record.seen(bodies.Disarmed(pass_id=self.one.id, why=refusal.why))
        self._bay.record.seen(bodies.Refused(pass_id=self.one.id, rule=refusal.rule, why=refusal.why))

    def _write_intent(self) -> None:
        assert self.held is not None
        self.run_s = seconds(self.one.seconds)
        self._payload = length.start_payload(self.command, self.run_s)
        request = self._request()
        body = intent_of(request, self.run_s, self._payload, self.held.approved.seq, self.first_use)
        draft = self._bay.record.draft(body, MACHINE)
        thread = self._bay.record.thread

        def append() -> Entry:
            self._require()
            return thread.append(draft)

        self._intent = thread.call(append)
        self._intent.then = self._intent_synced

    def _request(self) -> rules.Request:
        return self._bay.request(self._state, self.one, self.command)

    def _require(self) -> None:
        """Raise when it may be sent no longer: for the journal's thread."""
        assert self.held is not None
        now, on = self._bay.clock.stamp(), self.held.approved
        last_word.require_leave(self._approvals(), self._request(), now, armed_on=on, first_use=self.first_use)

    def _look_for_leave(self, now_ns: int) -> None:
        """Look, while it is armed, whether it may still be sent; where not, it is refused before anybody starts it."""
        self._next_look_ns = now_ns + LOOK_EVERY_S * NS
        found: list[LocalError] = []

        def look() -> None:
            try:
                self._require()
            except LocalError as error:
                found.append(error)

        def looked(_: Ticket) -> None:
            if found and self.life.state == "armed":
                self.refusal = _refusal_of(found[0])
                self._fire("refused")

        self._bay.record.thread.call(look).then = looked

    def _intent_synced(self, ticket: Ticket) -> None:
        assert ticket.entry is not None and self.held is not None
        self.intent = ticket.entry.seq
        self._approach = Approach(
            self._bay, self.one, self.command, self.intent, self.life, self._fire, preflight=self.preflight,
            held=self.held, payload=self._payload, armed_until_ns=self._armed_until_ns, forbidden=self._forbidden,
            refuse=self._refused, require=self._require,
        )  # fmt: skip
        self._wire = OnWire(self._bay, self._state, self.one, self.command, self.intent, self.life, self._fire)
        self._fire("synced")

    def _approach_start(self) -> None:
        assert self._approach is not None
        self._approach.begin()

    def _count_down(self) -> None:
        assert self._approach is not None
        self._approach.count_down()

    def _send_start(self) -> None:
        assert self._wire is not None
        self._wire.send_start(self._payload)
        if self.one.order == "with" and self._approach is not None:
            self._approach.record_cue()

    def _forbidden(self, payload: bytes, late: bool) -> Refusal | None:
        """Return why it may not leave now: much may have changed since the person started."""
        return last_word.refusal(self._request(), self._bay.talk, payload, slept=self._awake.slept(), late=late)

    def _refused(self, refused: Refusal) -> None:
        self.refusal, self.why = refused, refused.why
        self._bay.record.seen(bodies.Refused(pass_id=self.one.id, rule=refused.rule, why=refused.why))

    def _begin_clock(self) -> None:
        assert self._wire is not None
        self._wire.begin_clock(self.run_s)

    def _send_stop(self) -> None:
        assert self._wire is not None
        self._wire.send_stop()

    def _write_outcome(self) -> None:
        keep = self._bay.talk.end_keep_alive()
        if keep is not None and self.intent is not None:
            self._bay.record.seen(kept_alive(keep, self.intent, self._bay.clock.mono_ns()))
        assert self.intent is not None
        outcome = outcome_of(self._ending(), self.intent, self.one.id, self._state.procedure.physical_fallback)
        self._outcome = self._bay.record.seen(outcome)
        for message in told_of(outcome, self.run_s):
            self._bay.tell(message)

    def _ending(self) -> Ending:
        life, wire, before = self.life, self._wire, self._approach
        assert wire is not None and before is not None
        to_ns = wire.heard_ns if wire.to_ns is None else wire.to_ns
        code, why = before.code if wire.code is None else wire.code, wire.why or before.why or self.why
        return Ending(life.was, life.reason, self.asked, why, wire.stop_sent, code, wire.from_ns, to_ns)

    def _not_recorded(self, ticket: Ticket) -> None:
        """An entry could not be written: refuse where nothing was sent, stop where it runs."""
        error = ticket.error
        assert error is not None
        if ticket is self._outcome or self.life.state in MAY_HAVE_LEFT:
            self.unrecorded = True
        what = "" if isinstance(error, Withdrawn) else "it cannot be recorded: "
        if self.life.state in MAY_HAVE_LEFT or self.life.state in ("session", "cue"):
            self.stop(f"{what}{error}")
        elif self._intent is not None and ticket is not self._intent:
            self.stop(f"{what}{error}")  # the intent may still come to be on disk: it is withdrawn, with an outcome
        elif self.life.state in ("checking", "arming", "recording", "withdrawing"):
            self.refusal = _refusal_of(error)
            self._fire("refused" if self.life.state == "checking" else "unrecorded")


def _refusal_of(error: WitnessmarkError) -> Refusal:
    return Refusal("not-approved" if isinstance(error, Withdrawn) else "not-recorded", str(error), error.hint)


_ACTIONS: dict[Action, Callable[[Run], None]] = {
    "record_armed": Run._record_armed,
    "refuse": Run._refuse,
    "disarm": Run._disarm,
    "write_intent": Run._write_intent,
    "enter_session": Run._approach_start,
    "count_down": Run._count_down,
    "send_start": Run._send_start,
    "begin_clock": Run._begin_clock,
    "send_stop": Run._send_stop,
    "write_outcome": Run._write_outcome,
}

"""An actuation from its intent on disk to its start request: look again, enter the session, count down.

What was found before arming and what the loop hears flow in; requests, and events for the table, flow out. Rules that
hold here: since arming the plug may sit in another vehicle, or this one may have begun to roll, so unit, vehicle and
standstill are read again; the leave to send is read again once the session holds; a nipple that opens with the run is
called out only for a start that leaves at the end of the countdown.
"""

from __future__ import annotations

from collections.abc import Callable

from witnessmark.clock import NS
from witnessmark.errors import LocalError, PeerError
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.sending.actuation import Actuation, Event
from witnessmark.job.sending.preflight import Held, Looking, Preflight, refused_by
from witnessmark.job.walk.state import CUE_GIVEN
from witnessmark.journal import bodies
from witnessmark.mapping.model import WireCommand
from witnessmark.procedure.model import Pass
from witnessmark.talk.exchange import Exchange

CUE = 3
"""Seconds counted down aloud before a start that the nipple opens with."""
Forbidden = Callable[[bytes, bool], Refusal | None]
"""Says why a payload may not leave now; the other word is whether arming has expired."""


class Approach:
    """What comes before the start of one actuation. `fire` lets an event in; `refuse` takes why it is not sent.

    `require` raises, in the journal's thread, when it may be sent no longer. `until_ns` is when the countdown goes on,
    monotonic; `code` and `why` say what the control unit did not do.
    """

    def __init__(
        self,
        bay: Bay,
        one: Pass,
        command: WireCommand,
        intent: int,
        life: Actuation,
        fire: Callable[[Event], None],
        *,
        preflight: Preflight,
        held: Held,
        payload: bytes,
        armed_until_ns: int,
        forbidden: Forbidden,
        refuse: Callable[[Refusal], None],
        require: Callable[[], None],
    ) -> None:
        self.until_ns: int | None = None
        self.code: int | None = None
        self.why = ""
        self._bay = bay
        self._pass = one
        self._command = command
        self._intent = intent
        self._life = life
        self._fire = fire
        self._preflight = preflight
        self._held = held
        self._payload = payload
        self._armed_until_ns = armed_until_ns
        self._forbidden = forbidden
        self._refuse = refuse
        self._require = require
        self._look: Looking | None = None
        self._session: Exchange | None = None
        self._count = CUE

    @property
    def open(self) -> bool:
        """Whether something that was asked may still be answered."""
        waits = self._look.waits if self._look is not None else None
        return any(isinstance(one, Exchange) and one.open for one in (waits, self._session))

    def begin(self) -> None:
        """Look again first."""
        if not self._refused(self._payload):
            self._look = Looking(self._preflight.again(self._held.approved), self._looked_again)
            self._look.go_on()

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of these."""
        if self._look is not None and exchange is self._look.waits:
            if self._life.state == "ended":
                self._look.waits = None
                self._record(exchange, "condition")
            else:
                self._look.go_on()
        elif exchange is self._session:
            self._session_ended(exchange)
        else:
            return False
        return True

    def ticket(self, ticket: Ticket) -> None:
        """Take in a ticket that was written."""
        if self._look is not None and ticket is self._look.waits and self._life.state != "ended":
            self._look.go_on()

    def tick(self, now_ns: int) -> None:
        """Let time pass: count on."""
        if self._life.state == "cue" and self.until_ns is not None and now_ns >= self.until_ns:
            self._count -= 1
            self.count_down()

    def count_down(self) -> None:
        """Call out the number that the countdown stands at, or go when it is over."""
        if self._count == 1:  # what was read before the countdown is as old as that
            self._look = Looking(self._preflight.stands(self._require), self._go)
            self._look.go_on()
        if self._count > 0 and self._life.state == "cue":
            self.until_ns = self._bay.clock.mono_ns() + NS
            self._bay.record.thread.call(self._require)
            self._bay.tell({"cue": self._count})
        elif self._life.state == "cue":
            self.until_ns = None
            self._go(None)

    def record_cue(self) -> None:
        """Record only that it was called out: whether the nipple was opened is asked afterwards."""
        when = self._bay.record.cue()
        for nipple in self._pass.nipples:
            body = bodies.StepDone(step=CUE_GIVEN, act="done", pass_id=self._pass.id, nipple=nipple, on_cue=True)
            self._bay.record.seen(body, when)

    def _looked_again(self, found: Refusal | Held | None) -> None:
        request = bytes((0x10, self._command.session))
        if isinstance(found, Refusal):
            self._refuse(found)
            self._fire("refused")
        elif self._refused(request):
            return
        elif self._command.session == 1:
            self._session_holds()
        else:
            try:
                self._session = self._bay.talk.begin(self._bay.peer, request, self._bay.timing)
            except LocalError as error:
                self._refuse(refused_by(error))
                self._fire("refused")

    def _session_ended(self, exchange: Exchange) -> None:
        self._record(exchange, "session")
        if self._life.state != "session":
            return
        if exchange.result == "positive" and exchange.answer is not None:
            try:
                self._bay.timing = self._bay.timing.after_session(exchange.answer.payload)
            except PeerError:
                self._bay.tell({"said": "the session answer states no times: the map's hold"})
            self._session_holds()
            return
        self.code = exchange.code
        self.why = "the control unit did not enter the session"
        self._fire("negative" if exchange.result == "negative" else "silence")

    def _session_holds(self) -> None:
        self._bay.talk.keep_alive(self._bay.peer, self._bay.timing)
        self._bay.record.thread.call(self._require).then = lambda _: self._still_approved()

    def _still_approved(self) -> None:
        late = self._bay.clock.mono_ns() >= self._armed_until_ns
        if self._life.state == "session" and not self._refused(self._payload, late=late):
            self._fire("counting" if self._pass.order == "with" else "ready")

    def _go(self, found: Refusal | Held | None) -> None:
        """Start when both the countdown and the look are over: nobody opens a nipple for a run that does not begin."""
        if isinstance(found, Refusal):
            self._refuse(found)
            self._fire("refused")
        elif self._count > 0 or (self._look is not None and self._look.waits is not None):
            return
        elif not self._refused(self._payload):
            self._bay.tell({"cue": 0})
            self._fire("go")

    def _refused(self, payload: bytes, *, late: bool = False) -> bool:
        """Look once more, right before sending, at what may have changed since the person started."""
        refused = self._forbidden(payload, late)
        if refused is not None:
            self._refuse(refused)
            self._fire("refused")
        return refused is not None

    def _record(self, exchange: Exchange, purpose: str) -> None:
        self._bay.record.exchange(
            exchange, purpose, actuation=self._intent, pass_id=self._pass.id, shows_pending=self._bay.shows_pending
        )

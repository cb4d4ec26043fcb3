"""What the machine reads by itself as a step of the job: the vehicle's number and the stored trouble codes.

A step and a bay flow in; requests leave (22 F190 of ISO 14229-1, annex C.1, or those of `code_scan`); the exchanges and
what they say flow out as entries. Rules that hold here: it only reads; what is not answered is not met by anything
else, the person reads again or leaves it out with a reason.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from witnessmark.errors import InputError, LocalError
from witnessmark.job.allowed.first_use import unread
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.numbers import VEHICLE_NUMBER, Reading, spelled
from witnessmark.job.unit import code_scan
from witnessmark.job.walk.state import VEHICLE, JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal.bodies import CodeScan, Condition
from witnessmark.talk.exchange import Exchange


class Asking:
    """What one step asks. `done` when all of it is on disk; `failed` says why it was not answered."""

    def __init__(self, bay: Bay, state: JobState, point: Point) -> None:
        assert point.step is not None
        self.point = point
        self.failed = ""
        self.done = False
        self._bay = bay
        self._state = state
        self._step = point.step
        self._ticket: Ticket | None = None
        scan = self._step.act == "scan"
        self._left = code_scan.questions(bay, state.map) if scan else [(bay.peer, VEHICLE_NUMBER)]
        self._told: set[str] = set()
        self._exchange = self._next()

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is another."""
        if exchange is not self._exchange:
            return False
        purpose = "identification" if self._step.act == "identify" else "scan"
        ticket = self._bay.record.exchange(exchange, purpose, shows_pending=self._bay.shows_pending)
        if exchange.peer.functional:
            ticket.then = lambda written: self._go_on(written, exchange)
        elif exchange.result != "positive" or exchange.answer is None:
            self.failed = _why(exchange)
            ticket.then = self._finish
        else:
            ticket.then = lambda written: self._say(written, exchange)
        self._ticket = ticket
        return True

    def _next(self) -> Exchange:
        """Ask the next; what cannot be asked of everybody is passed over. Raises LocalError where all cannot."""
        while True:
            peer, payload = self._left.pop(0)
            try:
                return self._bay.talk.begin(peer, payload, self._bay.timing)
            except LocalError:
                if not peer.functional:
                    raise

    def _go_on(self, written: Ticket, exchange: Exchange) -> None:
        """Record the codes of everybody but the job's own control unit, then ask on."""
        for name, codes in code_scan.found_by(exchange, self._bay.peer).items():
            if name not in self._told:
                self._told.add(name)
                self._bay.record.seen(self._scan(codes, name, written.entry.seq if written.entry else None))
        try:
            self._exchange = self._next()
        except LocalError as error:
            self.failed = f"{error.what} ({error.hint})"
            self.done = True

    def unrecorded(self, ticket: Ticket) -> None:
        """What came of it could not be written: it counts as not answered."""
        if ticket is self._ticket:
            self.failed = f"it cannot be recorded: {ticket.error}"
            self.done = True

    def _say(self, written: Ticket, exchange: Exchange) -> None:
        assert exchange.answer is not None
        seq = written.entry.seq if written.entry else None
        try:
            body = self._body(exchange.answer.payload, seq)
        except InputError as error:
            self.failed = str(error)
            self.done = True
            return
        if isinstance(body, Condition) and not body.holds:
            self.failed = (
                f"the control unit says {body.found}, the order says {body.wanted}: another vehicle, or typed wrongly; "
                "then open the job anew"
            )
        else:
            self._bay.tell({"said": self._heard(body)})
        self._ticket = self._bay.record.seen(body)
        self._ticket.then = self._finish

    def _heard(self, body: Condition | CodeScan) -> str:
        """Return what was read in words, for whoever stands at the vehicle: it is asked without a touch."""
        if isinstance(body, Condition):
            return f"the control unit's number: {body.found}; asked: {body.wanted}"
        own = self._state.procedure.codes_set_by_work
        left = ", ".join(code for code in body.codes if code not in own)
        after = f"; NOT set by the work: {left}" if body.when == "after" and left else ""
        return f"trouble codes {body.when} the work: {', '.join(body.codes) or 'none'}{after}"

    def _finish(self, ticket: Ticket) -> None:
        self.done = True

    def _body(self, payload: bytes, seq: int | None) -> Condition | CodeScan:
        if self._step.act == "identify":
            found, wanted = spelled(payload[3:]), self._state.vehicle
            holds = not wanted or found == wanted.strip().upper()
            wanted = wanted.strip().upper() or "any: none was typed"
            return Condition(name=VEHICLE, found=found, wanted=wanted, holds=holds, source="read", exchange=seq)
        return self._scan(code_scan.codes_in(payload), self._state.procedure.control_unit, seq, self._step.id)

    def _scan(self, codes: tuple[str, ...], control_unit: str, exchange: int | None, step: str = "") -> CodeScan:
        begun = self.point.again and any(one.pass_id for one in self._state.points[: self._state.cursor])
        early = self._step in self._state.procedure.steps_before and not begun
        when: Literal["before", "after"] = "before" if early else "after"
        return CodeScan(when=when, codes=codes, control_unit=control_unit, exchange=exchange, step=step)


def _why(exchange: Exchange) -> str:
    if exchange.result == "negative":
        return f"the control unit refuses it ({exchange.code:02X})"
    return "the link is lost" if exchange.result == "lost" else "the control unit does not answer"


class Asker:
    """Asks as soon as the walk comes to a step of the machine's; `failed` stands until the person says what then."""

    def __init__(self) -> None:
        self.failed = ""
        self._asking: Asking | Reading | None = None
        self._failed_at = ""

    @property
    def busy(self) -> bool:
        return self._asking is not None and not self._asking.done

    def again(self) -> None:
        """Forget that it was not answered: the next look asks again."""
        self.failed = self._failed_at = ""

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of these."""
        return self._asking is not None and self._asking.ended(exchange)

    def unrecorded(self, ticket: Ticket) -> None:
        """Take note of an entry that could not be written."""
        if self._asking is not None:
            self._asking.unrecorded(ticket)

    def look(self, state: JobState, connect: Callable[[], Bay | None]) -> None:
        """Begin what the walk asks for now, or take note of how it ended."""
        point = state.point
        if self._asking is not None:
            if not self._asking.done:
                return
            self.failed, self._failed_at = self._asking.failed, self._asking.point.id
            self._asking = None
        held = state.grade != "sent" or state.status != "open" or state.inspect is not None or bool(state.decide)
        held = held or bool(state.others or state.codes_due)
        numbers = unread(state)
        asks = point is not None and (point.kind == "ask" or numbers)
        if point is None or not asks or held or (self.failed and self._failed_at == point.id):
            return
        bay = connect()
        self.failed, self._failed_at = "", point.id
        try:
            if bay is not None:
                self._asking = Reading(bay, point) if numbers else Asking(bay, state, point)
        except LocalError as error:
            self.failed = f"{error.what} ({error.hint})"
        if bay is None:
            self.failed = "there is no link to the control unit"

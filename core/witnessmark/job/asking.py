"""What the machine reads by itself as a step of the job: the vehicle's number and the stored trouble codes.

A step and a bay flow in; one request leaves (22 F190, or 19 02: ISO 14229-1, annex C.1 and 12.3); the exchange and what
it says flow out as entries. Rules that hold here: it only reads; what is not answered is not met by anything else, the
person reads again or leaves it out with a reason.
"""

from __future__ import annotations

from collections.abc import Callable

from witnessmark.errors import InputError, LocalError
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.state import VEHICLE, JobState
from witnessmark.job.steps import Point
from witnessmark.journal.bodies import CodeScan, Condition
from witnessmark.talk.exchange import Exchange
from witnessmark.wire.dtc import format_code

NUMBER = bytes.fromhex("22F190")
CODES = bytes.fromhex("190209")
"""Codes that fail now or are confirmed: bits 0 and 3 of the status (ISO 14229-1:2020, annex D.2)."""


class Asking:
    """One question to the control unit. `done` when all of it is on disk; `failed` says why it was not answered."""

    def __init__(self, bay: Bay, state: JobState, point: Point) -> None:
        assert point.step is not None
        self.point = point
        self.failed = ""
        self.done = False
        self._bay = bay
        self._state = state
        self._step = point.step
        self._ticket: Ticket | None = None
        self._exchange = bay.talk.begin(bay.peer, self.payload, bay.timing)

    @property
    def payload(self) -> bytes:
        return NUMBER if self._step.act == "identify" else CODES

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is another."""
        if exchange is not self._exchange:
            return False
        purpose = "identification" if self._step.act == "identify" else "scan"
        ticket = self._bay.record.exchange(exchange, purpose, shows_pending=self._bay.shows_pending)
        if exchange.result != "positive" or exchange.answer is None:
            self.failed = _why(exchange)
            ticket.then = self._finish
        else:
            ticket.then = lambda written: self._say(written, exchange)
        self._ticket = ticket
        return True

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
            self.failed = f"the control unit says {body.found}, the order says {body.wanted}"
        self._ticket = self._bay.record.seen(body)
        self._ticket.then = self._finish

    def _finish(self, ticket: Ticket) -> None:
        self.done = True

    def _body(self, payload: bytes, seq: int | None) -> Condition | CodeScan:
        if self._step.act == "identify":
            found, wanted = payload[3:].decode("ascii", "replace").strip().strip("\x00").upper(), self._state.vehicle
            holds = not wanted or found == wanted.strip().upper()
            wanted = wanted.strip().upper() or "any: none was typed"
            return Condition(name=VEHICLE, found=found, wanted=wanted, holds=holds, source="read", exchange=seq)
        before = self._step in self._state.procedure.steps_before
        return CodeScan(
            when="before" if before else "after",
            codes=codes_in(payload),
            control_unit=self._state.procedure.control_unit,
            exchange=seq,
            step=self._step.id,
        )


def codes_in(payload: bytes) -> tuple[str, ...]:
    """Return the codes of an answer 59 02, without those whose status answers to no bit asked for.

    Raises InputError when the records are not whole.
    """
    records = payload[3:]
    if len(records) % 4:
        raise InputError(f"the answer {payload.hex().upper()} is not whole", place="scan", hint="read again")
    found = (records[at : at + 4] for at in range(0, len(records), 4))
    return tuple(format_code(one[:3]) for one in found if one[3] & CODES[2])


def _why(exchange: Exchange) -> str:
    if exchange.result == "negative":
        return f"the control unit refuses it ({exchange.code:02X})"
    return "the link is lost" if exchange.result == "lost" else "the control unit does not answer"


class Asker:
    """Asks as soon as the walk comes to a step of the machine's; `failed` stands until the person says what then."""

    def __init__(self) -> None:
        self.failed = ""
        self._asking: Asking | None = None
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
        held = state.status != "open" or state.inspect is not None or bool(state.decide)
        if point is None or point.kind != "ask" or held or (self.failed and self._failed_at == point.id):
            return
        bay = connect()
        self.failed, self._failed_at = "", point.id
        try:
            self._asking = Asking(bay, state, point) if bay is not None else None
        except LocalError as error:
            self.failed = f"{error.what} ({error.hint})"
        if bay is None:
            self.failed = "there is no link to the control unit"

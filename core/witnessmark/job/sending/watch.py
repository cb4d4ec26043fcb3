"""What is read while an actuation runs: supply voltage and standstill, in turn, at once and every two seconds.

Rules that hold here: every reading is recorded; a vehicle that moves, and a control unit that twice says nothing, are
reasons to stop; nothing is asked so late that it could delay the stop.
"""

from __future__ import annotations

from witnessmark.clock import NS
from witnessmark.errors import InputError, LocalError
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.unit import condition as conditions
from witnessmark.job.unit.condition import STANDING
from witnessmark.job.walk.state import JobState
from witnessmark.journal.bodies import Condition
from witnessmark.mapping.model import ConditionRead
from witnessmark.procedure.model import Precondition
from witnessmark.talk.exchange import Exchange

WATCHED = (STANDING, "voltage")
EVERY_S = 2.0
QUIET_BEFORE_END_S = 0.5
MOST_SILENT = 2


class Watch:
    """Reads while one run goes on. `wrong` is why it has to stop, empty while it does not."""

    def __init__(self, bay: Bay, state: JobState, intent: int | None, pass_id: str) -> None:
        self.wrong = ""
        self._bay = bay
        self._intent = intent
        self._pass_id = pass_id
        known = {one.name: one for one in state.map.conditions} if state.map else {}
        self._turns = [known[name] for name in WATCHED if name in known]
        self._wanted = {one.name: one for one in state.procedure.preconditions}
        if state.procedure.voltage is not None:
            self._wanted.setdefault("voltage", Precondition("voltage", "", limit=state.procedure.voltage))
        self._next_ns = bay.clock.mono_ns()  # at once: what was read before arming may be 90 s old
        self._turn = 0
        self._silent = 0
        self._open: tuple[Exchange, ConditionRead] | None = None

    def tick(self, now_ns: int, until_ns: int | None) -> None:
        """Ask for the next one when it is due and there is time for it."""
        if not self._turns or self._open is not None or now_ns < self._next_ns:
            return
        self._next_ns = now_ns + round(EVERY_S * NS)
        if until_ns is not None and until_ns - now_ns < round(QUIET_BEFORE_END_S * NS):
            return
        one = self._turns[self._turn % len(self._turns)]
        self._turn += 1
        try:
            self._open = (self._bay.talk.begin(self._bay.peer, conditions.request(one), self._bay.timing), one)
        except LocalError:
            return  # set aside after a silence, which was counted when it ended

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of these."""
        if self._open is None or exchange is not self._open[0]:
            return False
        one, self._open = self._open[1], None
        ticket = self._bay.record.exchange(
            exchange, "condition", actuation=self._intent, pass_id=self._pass_id, shows_pending=self._bay.shows_pending
        )
        if exchange.result != "positive" or exchange.answer is None:
            self._silent += 1
            if self._silent >= MOST_SILENT:
                self.wrong = "the control unit no longer answers"
            return True
        self._silent = 0
        try:
            found = conditions.value(one, exchange.answer.payload)
            if one.name == STANDING and conditions.moves(found):
                self.wrong = f"the vehicle moves: {found}"
            wanted = self._wanted.get(one.name)
            holds = conditions.holds(wanted, found) if wanted is not None else not self.wrong
        except InputError as error:
            self.wrong = str(error)
            return True
        ticket.then = lambda done: self._write(one, found, wanted, holds, done)
        return True

    def deadline_ns(self) -> int | None:
        return self._next_ns if self._turns and self._open is None else None

    def _write(self, one: ConditionRead, found: str, wanted: Precondition | None, holds: bool, ticket: Ticket) -> None:
        body = Condition(
            name=one.name,
            found=found,
            wanted=conditions.wanted(wanted) if wanted is not None else "",
            holds=holds,
            source="read",
            exchange=ticket.entry.seq if ticket.entry else None,
            pass_id=self._pass_id,
        )
        self._bay.record.seen(body)

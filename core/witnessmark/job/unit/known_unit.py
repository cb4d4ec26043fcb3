"""Whether it is the control unit that was approved, and what it tells holds: read before a nipple is opened for a run.

The approval that holds, the walk's place and the link flow in; a view that waits flows out in the place of one that
asks for the run. Rules that hold here: it only reads, once for each run, and again when the link or the approval is
another one, the feed's pressure was read anew or a person asks; what is as it was approved leaves no entry, for the
preflight reads and records all of it again before anything is sent; what is not is recorded once, and kept until it
reads right.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from functools import partial

from msgspec.structs import replace

from witnessmark.errors import InputError
from witnessmark.job.allowed.approval import Approved
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.bay import Bay
from witnessmark.job.heard.hearing import Hearing
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.screens.withheld_view import run_asked_for, withheld_view
from witnessmark.job.sending.preflight import Held, Looking
from witnessmark.job.unit import condition as conditions
from witnessmark.job.unit import identified
from witnessmark.job.view import View, busy_view
from witnessmark.job.walk.standing import sentence
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import PRESSURE
from witnessmark.procedure import own
from witnessmark.procedure.model import Pass
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.exchange import Exchange

WHICH_UNIT = own.WHICH_UNIT
"""The step id of the view that says that it is another one."""
CONDITION = "condition"
PUT_RIGHT = "put it right, then read it again; where it is right and this stays, the procedure or the map may be wrong"
NO_LINK = Refusal("no-link", "there is no link to the control unit", "check plug and cable")


class KnownUnit:
    """Says whether the unit is known for the run ahead. `state` is asked for the job's of now."""

    def __init__(self, hearing: Hearing, state: Callable[[], JobState]) -> None:
        self._hearing = hearing
        self._state = state
        self._look: Looking | None = None
        self._refusal: Refusal | None = None
        self._of: tuple[str, int, int, int] | None = None
        self._talk: Conversation | None = None
        self._asked: list[tuple[str, Exchange]] = []
        self._recorded: Refusal | None = None

    @property
    def busy(self) -> bool:
        return self._look is not None

    def again(self) -> None:
        """Forget what is known: the next look reads it."""
        self._of = None

    def refused(self, refusal: Refusal) -> None:
        """Keep that the unit was another one when it was to be sent."""
        if refusal.rule == identified.RULE:
            self._refusal = refusal
        elif refusal.rule == CONDITION:
            self.again()

    def look(self, approved: Approved | None, view: View) -> None:
        """Begin to read when `view` asks for a run that is another than what is known of, or over another way."""
        state = self._state()
        one = run_asked_for(state, view)
        if state.status != "open":
            self._of = None
        if self.busy or one is None or approved is None or state.status != "open":
            return
        read = state.reading(PRESSURE)
        of = (one.id, approved.seq, len(state.runs), read.seq if read is not None else -1)
        if of == self._of and self._talk is self._works():
            return
        bay = self._hearing.connect(state.map)
        self._of, self._talk, self._refusal = of, None, NO_LINK
        if bay is not None:
            self._talk, self._refusal = bay.talk, None
            self._look = Looking(self._read(bay, state, one, approved), lambda found: self._found(bay, one, found))
            self._look.go_on()

    def _works(self) -> Conversation | None:
        return self._hearing.bay.talk if self._hearing.bay is not None and self._hearing.works else None

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of these."""
        if self._look is None or exchange is not self._look.waits:
            return False
        self._look.go_on()
        return True

    def shown(self, view: View) -> View:
        """Return the view; in the place of one that asks for the run, that it is being read or is another unit."""
        state = self._state()
        one = run_asked_for(state, view)
        if one is None or self._of is None or one.id != self._of[0]:
            return view
        if self.busy:
            return replace(busy_view("Reading which control unit this is."), stands=view.stands, opened=view.opened)
        if self._refusal is None:
            return view
        then = sentence(self._refusal.hint)
        return withheld_view(state, one, view, self._refusal.why, then, again="read it again", step=WHICH_UNIT)

    def _read(self, bay: Bay, state: JobState, one: Pass, approved: Approved) -> identified.Check:
        def ask(request: bytes, purpose: str) -> Generator[Exchange | Ticket, None, identified.Answer]:
            exchange = bay.talk.begin(bay.peer, request, bay.timing)
            self._asked.append((purpose, exchange))
            yield exchange
            return identified.answer(exchange, state)

        who = partial(ask, purpose=identified.RULE)
        refused = yield from identified.approved_unit(approved, who, state.command_of(one), state.map)
        refused = refused or (yield from identified.vehicle_of(state, who))
        return refused or (yield from self._holds(state, partial(ask, purpose=CONDITION)))

    def _holds(self, state: JobState, read: identified.Read) -> identified.Check:
        """Return the first precondition that is read and does not hold; what is not told is asked when it is armed."""
        readable = {one.name: one for one in state.map.conditions} if state.map else {}
        for one in conditions.all_of(state.procedure.preconditions, readable):
            if one.name not in readable:
                continue
            silent, told = yield from read(conditions.request(readable[one.name]))
            if silent:
                return silent
            try:
                found = conditions.value(readable[one.name], bytes(3) + told)
                holds = conditions.holds(one, found)
            except InputError:
                continue
            if not holds:
                return Refusal(CONDITION, f"{one.text}: {found}, wanted {conditions.wanted(one)}", PUT_RIGHT)
        return None

    def _found(self, bay: Bay, one: Pass, found: Refusal | Held | None) -> None:
        self._look, self._talk = None, self._works()
        self._refusal = found if isinstance(found, Refusal) else None
        asked, self._asked = self._asked, []
        if self._refusal is not None and self._refusal != self._recorded:
            for purpose, exchange in asked:
                bay.record.exchange(exchange, purpose, pass_id=one.id, shows_pending=bay.shows_pending)
        self._recorded = self._refusal

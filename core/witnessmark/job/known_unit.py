"""Whether the control unit at the plug is the one that was approved: read before anything is asked or opened for a run.

The approval that holds, the walk's place and the link flow in; a view that waits flows out in the place of one that
asks for the run. Rules that hold here: it only reads, once for each run, and again when the link or the approval is
another one or a person asks; what is as it was approved leaves no entry, for the preflight reads and records all of it
again before anything is sent; what is not is recorded once, and kept until it reads right.
"""

from __future__ import annotations

from collections.abc import Callable, Generator

from msgspec.structs import replace

from witnessmark.job import identified
from witnessmark.job.approval import Approved
from witnessmark.job.bay import Bay
from witnessmark.job.hearing import Hearing
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.rules import Refusal
from witnessmark.job.screens.withheld_view import run_asked_for, withheld_view
from witnessmark.job.sending.preflight import Held, Looking
from witnessmark.job.standing import sentence
from witnessmark.job.state import JobState
from witnessmark.job.view import View, busy_view
from witnessmark.procedure import own
from witnessmark.procedure.model import Pass
from witnessmark.talk.conversation import Conversation
from witnessmark.talk.exchange import Exchange

WHICH_UNIT = own.WHICH_UNIT
"""The step id of the view that says that it is another one."""
NO_LINK = Refusal("no-link", "there is no link to the control unit", "check plug and cable")


class KnownUnit:
    """Says whether the unit is known for the run ahead. `state` is asked for the job's of now."""

    def __init__(self, hearing: Hearing, state: Callable[[], JobState]) -> None:
        self._hearing = hearing
        self._state = state
        self._look: Looking | None = None
        self._refusal: Refusal | None = None
        self._of: tuple[str, int, int] | None = None
        self._talk: Conversation | None = None
        self._asked: list[Exchange] = []
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

    def look(self, approved: Approved | None, view: View) -> None:
        """Begin to read when `view` asks for a run that is another than what is known of, or over another way."""
        state = self._state()
        one = run_asked_for(state, view)
        if state.status != "open":
            self._of = None
        if self.busy or one is None or approved is None or state.status != "open":
            return
        of = (one.id, approved.seq, len(state.runs))
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
        def read(request: bytes) -> Generator[Exchange | Ticket, None, identified.Answer]:
            exchange = bay.talk.begin(bay.peer, request, bay.timing)
            self._asked.append(exchange)
            yield exchange
            return identified.answer(exchange, state)

        refused = yield from identified.approved_unit(approved, read, state.command_of(one), state.map)
        return refused or (yield from identified.vehicle_of(state, read))

    def _found(self, bay: Bay, one: Pass, found: Refusal | Held | None) -> None:
        self._look, self._talk = None, self._works()
        self._refusal = found if isinstance(found, Refusal) else None
        asked, self._asked = self._asked, []
        if self._refusal is not None and self._refusal != self._recorded:
            for exchange in asked:
                bay.record.exchange(exchange, identified.RULE, pass_id=one.id, shows_pending=bay.shows_pending)
        self._recorded = self._refusal

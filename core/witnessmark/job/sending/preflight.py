"""Before arming: the rules, the approval, the control unit's identification, every precondition, each recorded.

State and answers flow in; a refusal or what was found flows out. It is a generator that yields what it waits for (an
exchange or a ticket), so that the loop goes on meanwhile; `Looking` carries it on. Rules that hold here: a precondition
is read where the map knows how, else told by a person who answered; no answer is a refusal; nothing but 22 is sent;
arming may be old when the person starts, so unit, vehicle and standstill are read again right before.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Mapping
from dataclasses import dataclass, replace

from witnessmark.errors import InputError, LocalError
from witnessmark.job import numbers
from witnessmark.job.allowed import first_use, rules
from witnessmark.job.allowed.approval import Approved, find, lacking
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.questions import OPENED, held, questions
from witnessmark.job.unit import condition as conditions
from witnessmark.job.unit import identified
from witnessmark.job.unit.condition import STANDING
from witnessmark.job.walk.standing import close_first, is_open
from witnessmark.job.walk.state import JobState
from witnessmark.journal.bodies import Condition
from witnessmark.journal.entry import Entry
from witnessmark.mapping.first_use import QUESTIONS
from witnessmark.mapping.model import ConditionRead, WireCommand
from witnessmark.procedure.model import Pass, Precondition
from witnessmark.talk.exchange import Exchange

Approvals = Callable[[], Iterable[Entry]]
"""Reads the entries of the journal that say what may be sent (`first_use.KINDS`), in the journal's thread."""


@dataclass(frozen=True, slots=True)
class Held:
    """Everything holds. `found` is each precondition in words and what was read or told; `lead` a first use's."""

    approved: Approved
    found: dict[str, str]
    lead: str = ""


MAY_BE_WRONG = "; where it is right and this stays, the procedure or the map may be wrong: pause, and ask the lead"
"""What is told besides of a precondition that was found otherwise."""
Steps = Generator[Exchange | Ticket, None, Refusal | Held]
Again = Generator[Exchange | Ticket, None, Refusal | None]


class Looking:
    """Carries one look on. `waits` is what it waits for; `done` takes what it came to, once."""

    def __init__(self, steps: Steps | Again, done: Callable[[Refusal | Held | None], None]) -> None:
        self.waits: Exchange | Ticket | None = None
        self._steps = steps
        self._done = done

    def go_on(self) -> None:
        """Go on to the next wait, or to the end."""
        try:
            self.waits = next(self._steps)
        except StopIteration as end:
            self.waits = None
            self._done(end.value)
        except LocalError as error:
            self.waits = None
            self._done(refused_by(error))


class Preflight:
    """One check before arming. `unreadable` collects preconditions that the control unit would not tell."""

    def __init__(
        self,
        bay: Bay,
        state: JobState,
        one: Pass,
        command: WireCommand,
        answers: Mapping[str, bool],
        approvals: Approvals,
        first_use: bool = False,
    ) -> None:
        self.unreadable: set[str] = set()
        self._first_use = first_use
        self._lead = ""
        self._bay = bay
        self._state = state
        self._pass = one
        self._command = command
        self._answers = answers
        self._approvals = approvals
        self._found: dict[str, str] = {}
        self._numbers: dict[str, str] = {}
        self._told_before: tuple[str, ...] = ()

    def steps(self, asked_before: tuple[str, ...]) -> Steps:
        """Go through all of it. `asked_before` are preconditions that could not be read a moment ago."""
        self._told_before = asked_before
        refused = rules.refusal(self._bay.request(self._state, self._pass, self._command))
        refused = refused or self._answered(asked_before)
        if refused:
            return refused
        approved = yield from self._approval()
        if isinstance(approved, Refusal):
            return approved
        refused = yield from self._who(approved)
        refused = refused or (yield from self._tried(approved))
        if refused:
            return refused
        readable = {one.name: one for one in self._state.map.conditions} if self._state.map else {}
        for one in conditions.all_of(self._state.procedure.preconditions, readable):
            if one.name in readable and one.name not in asked_before:
                refused = yield from self._read(one, readable[one.name])
            else:
                refused = yield from self._told(one)
            if refused:
                return refused
        return Held(approved, self._found, self._lead)

    def again(self, approved: Approved) -> Again:
        """Look whether it is the same control unit as when it was armed, and still stands."""
        refused = yield from self._who(approved)
        refused = refused or (yield from self._same_unit())
        return refused or (yield from self._stands())

    def stands(self, require: Callable[[], None]) -> Again:
        """Look whether the vehicle stands; then `require`, in the journal's thread, that it may be sent."""
        refused = yield from self._stands()
        if refused is None:
            yield self._bay.record.thread.call(require)
        return refused

    def _stands(self) -> Again:
        readable = {one.name: one for one in self._state.map.conditions} if self._state.map else {}
        for one in conditions.all_of(self._state.procedure.preconditions, readable):
            if one.name == STANDING and STANDING in readable and STANDING not in self._told_before:
                return (yield from self._read(one, readable[STANDING]))
        return None

    def _answered(self, asked_before: tuple[str, ...]) -> Refusal | None:
        standing = () if self._first_use else held(self._state, self._bay.clock.stamp(), self._bay.boot_id)
        for asked in questions(self._state, asked_before, standing):
            if asked.id in QUESTIONS and self._first_use:
                continue  # judged with all else that a first use needs
            if self._answers.get(asked.id) is not True:
                said = "no" if asked.id in self._answers else "no answer"
                stand_open = self._state.open_in(self._pass)
                first = close_first(self._state, stand_open) if stand_open else "keep the nipple shut; put it right"
                return Refusal("question", f"{asked.text} {said}", f"{first}, then answer again")
        return None

    def _approval(self) -> Generator[Ticket, None, Approved | Refusal]:
        found: list[Approved | Refusal] = []
        state, name = self._state, self._command.id

        def read() -> None:
            entries = tuple(self._approvals())
            approved = find(entries, state.map_digest, name, state.procedure_digest)
            why, hint = lacking(
                entries, state.map_digest, name, state.procedure_digest,
                invented=state.map is not None and state.map.invented, practice=self._bay.clock.practice,
            )  # fmt: skip
            found.append(approved if approved is not None and not why else Refusal("not-approved", why, hint))

        ticket = self._bay.record.thread.call(read)
        yield ticket
        if ticket.error is not None:
            raise ticket.error
        return found[0]

    def _tried(self, approved: Approved) -> Generator[Exchange | Ticket, None, Refusal | None]:
        """Hold a learned wire command to its first use: guard that one, and refuse any other before it."""
        found: list[Refusal | None] = []
        state = self._state
        if self._command.origin == "learned":
            self._numbers = yield from numbers.read(self._bay, self._pass.id)
            state = replace(state, numbers=tuple((dict(state.numbers) | self._numbers).items()))

        def read() -> None:
            entries = tuple(self._approvals())
            if self._first_use:
                now, boot_id = self._bay.clock.stamp(), self._bay.boot_id
                refused, self._lead = first_use.trial_refusal(
                    entries, state, self._command, approved.seq, self._answers, now, boot_id
                )
            else:
                refused = first_use.pass_refusal(entries, state, self._command, approved.seq)
            found.append(refused)

        ticket = self._bay.record.thread.call(read)
        yield ticket
        if ticket.error is not None:
            raise ticket.error
        return found[0]

    def _same_unit(self) -> Again:
        """Hold what was learned to the very unit that it was armed for: another may have the same software."""
        if self._command.origin != "learned":
            return None
        told = yield from numbers.read(self._bay, self._pass.id)
        if not numbers.apart(told, self._numbers):
            return None
        return Refusal(identified.RULE, "the control unit is another one than it was armed for", "arm again")

    def _who(self, approved: Approved) -> Again:
        refused = yield from identified.approved_unit(approved, self._identifier, self._command, self._state.map)
        return refused or (yield from identified.vehicle_of(self._state, self._identifier))

    def _identifier(self, request: bytes) -> Generator[Exchange | Ticket, None, identified.Answer]:
        exchange = yield from self._ask(request)
        yield self._bay.record.exchange(
            exchange, identified.RULE, pass_id=self._pass.id, shows_pending=self._bay.shows_pending
        )
        return self._answer(exchange)

    def _read(self, one: Precondition, how: ConditionRead) -> Generator[Exchange | Ticket, None, Refusal | None]:
        exchange = yield from self._ask(conditions.request(how))
        ticket = self._bay.record.exchange(
            exchange, "condition", pass_id=self._pass.id, shows_pending=self._bay.shows_pending
        )
        yield ticket
        silent, _ = self._answer(exchange)
        if silent:
            return silent
        if exchange.result != "positive" or exchange.answer is None:
            self.unreadable.add(one.name)
            return Refusal("unreadable", f"{one.text}: the control unit does not tell", "look yourself and answer")
        try:
            found = conditions.value(how, exchange.answer.payload)
            moves = one.name == STANDING and conditions.moves(found)
            holds = conditions.holds(one, found) and not moves
        except InputError as error:
            self.unreadable.add(one.name)
            return Refusal("unreadable", str(error), "look yourself and answer")
        self._found[one.text] = found
        seq = ticket.entry.seq if ticket.entry else None
        body = Condition(
            name=one.name, found=found, wanted=conditions.wanted(one), holds=holds, source="read", exchange=seq,
            pass_id=self._pass.id,
        )  # fmt: skip
        yield self._bay.record.seen(body)
        if moves:
            return Refusal("moving", f"the vehicle moves: {found}", "hold it so that it cannot roll")
        return None if holds else self._does_not_hold(one, found)

    def _told(self, one: Precondition) -> Generator[Ticket, None, Refusal | None]:
        holds = self._answers.get(one.name) is True
        self._found[one.text] = "yes, as told" if holds else "no, as told"
        body = Condition(
            name=one.name, found="yes" if holds else "no", wanted=conditions.wanted(one), holds=holds, source="told",
            pass_id=self._pass.id,
        )  # fmt: skip
        yield self._bay.record.said(body)
        return None if holds else self._does_not_hold(one, "no, as told")

    def _ask(self, payload: bytes) -> Generator[Exchange, None, Exchange]:
        exchange = self._bay.talk.begin(self._bay.peer, payload, self._bay.timing)
        yield exchange
        return exchange

    def _answer(self, exchange: Exchange) -> identified.Answer:
        return identified.answer(exchange, self._state, self._said_open)

    @property
    def _said_open(self) -> tuple[str, ...]:
        return self._pass.nipples if self._answers.get(OPENED) else ()

    def _does_not_hold(self, one: Precondition, found: str) -> Refusal:
        stand_open = tuple(dict.fromkeys((*self._state.open_in(self._pass), *self._said_open)))
        first = f"{is_open(self._state, stand_open)}: close it first, put it right" if stand_open else "put it right"
        hint = f"{first}, then arm again{MAY_BE_WRONG}"
        return Refusal("condition", f"{one.text}: {found}, wanted {conditions.wanted(one)}", hint)


def refused_by(error: LocalError) -> Refusal:
    """Return the refusal that an error of ours amounts to: nothing was sent."""
    return Refusal("set-aside" if "late answer" in error.what else "not-recorded", error.what, error.hint)

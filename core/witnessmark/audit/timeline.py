"""What happened, on one clock: actuations, nipple openings, steps, readings, and when the feed was under pressure.

These are facts joined from entries, each with the numbers (`seq`) of the entries it rests on; nothing here judges.
Moments are ranges in ns on the reconciled clock. An actuation has its grade: `sent` by us, `heard` on the bus, `told`
by a person; a nipple is always told.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeVar

import msgspec

from witnessmark.audit.latest import Latest
from witnessmark.audit.moments import Moments
from witnessmark.journal.bodies import Answer, ExchangeBody, KeepAlive, Outcome
from witnessmark.procedure import own
from witnessmark.quantity import Quantity
from witnessmark.range import Range, Span

VOLUMES = ("volume", "volume-removed", "volume-in", "volume-drawn", "waste")
"""Readings that add up: one read again is one more, unless it is said that the first was misread."""
NOT_RIGHT = "looked at, and not right"
"""What a no to a check says, in words."""

T = TypeVar("T")
K = TypeVar("K", bound=Hashable)


class Exchange(msgspec.Struct, frozen=True, gc=False):
    """A request and all that answered it."""

    seq: int
    at: int
    body: ExchangeBody

    @property
    def pending(self) -> int:
        """How many times the control unit answered that it needs more time (0x78)."""
        return sum(answer.verdict == "pending" for answer in self.body.answers)

    def positive(self) -> Answer | None:
        return next((answer for answer in self.body.answers if answer.verdict == "positive"), None)


class Actuation(msgspec.Struct, frozen=True, gc=False):
    """A run of a wire command. `ran` is None when nothing says that it began; an end nobody saw is open.

    Where a later entry shows that it had ended, `latest` is that entry and the end lies before it. `began` says whether
    it ran at all: yes, no (refused, or stopped before it was sent), or maybe (sent, and no answer).
    """

    seq: int
    pass_id: str
    nipples: tuple[str, ...]
    wire_command: str
    seconds: str
    grade: str
    asked: Range
    began: Literal["yes", "no", "maybe"]
    ran: Span | None
    outcome: Outcome | None = None
    outcome_seq: int | None = None
    exchanges: tuple[Exchange, ...] = ()
    keepalive: KeepAlive | None = None
    keepalive_seq: int | None = None
    learned: bool = False
    first_use: bool = False
    latest: Latest | None = None

    @property
    def subject(self) -> str:
        """What a finding calls it: its pass, or what else it was: a first use, or another tester's, of no pass."""
        return self.pass_id or (
            f"first use of {self.wire_command}" if self.first_use else f"{self.wire_command} besides"
        )

    @property
    def besides(self) -> bool:
        """Whether another tester made it besides the passes of the job."""
        return not self.pass_id and not self.first_use

    @property
    def never(self) -> str:
        """Why it never ran, for one that did not."""
        if self.grade == "told":
            return "was said not to have started"
        if self.unsent:
            return f"was not sent ({self.unsent})"
        return "was refused" if self.outcome and self.outcome.result == "refused" else "was stopped before it was sent"

    @property
    def unsent(self) -> str:
        """Why we did not send it in the end, where a rule of ours said no and not the control unit; else empty."""
        one = self.outcome
        ours = one is not None and one.result == "refused" and not one.code and self.grade == "sent"
        return (one.why or "no reason given") if one and ours and self.exchange("start") is None else ""

    @property
    def cites(self) -> tuple[int, ...]:
        """The entries the run rests on: the intent, the outcome, and what shows that it had ended by then."""
        outcome = () if self.outcome_seq is None else (self.outcome_seq,)
        return (self.seq, *outcome, *(() if self.latest is None else (self.latest.seq,)))

    def exchange(self, purpose: str) -> Exchange | None:
        """Return the last exchange of this purpose."""
        return next((one for one in reversed(self.exchanges) if one.body.purpose == purpose), None)


class Half(msgspec.Struct, frozen=True, gc=False):
    """What was recorded of a run of which no entry says how it began, or how it ended.

    `how`: its end or its answers alone; once more the end of a run that `ended` ends; its start after that.
    """

    pass_id: str
    cites: tuple[int, ...]
    how: Literal["alone", "ended again", "started again"] = "alone"
    ended: int = -1


class Opening(msgspec.Struct, frozen=True, gc=False, cache_hash=True):
    """A nipple open, as a person told it. `closed` is None when no entry closes it: then the end is open."""

    nipple: str
    pass_id: str
    open: Span
    opened: int | None
    closed: int | None
    on_cue: bool = False

    @property
    def cites(self) -> tuple[int, ...]:
        opened = () if self.opened is None else (self.opened,)
        return opened if self.closed is None else (*opened, self.closed)


class Act(msgspec.Struct, frozen=True, gc=False):
    """A manual step: done, skipped, confirmed, or `read` (a reading that did something); or a nipple opened, closed.

    `answer` was chosen or read off a container and may be judged; `said` is a remark, and only ever repeated.
    `looked`: a person looked and it was not right, where else a step skipped was left out; `mended` is what the person
    says was put right since then.
    """

    seq: int
    step: str
    act: str
    at: Range
    pass_id: str = ""
    nipple: str = ""
    affects: str = ""
    said: str = ""
    done_by: str = ""
    answer: str = ""
    looked: bool = False
    mended: str = ""

    @property
    def done(self) -> bool:
        return self.act in ("done", "confirmed", "read")

    @property
    def how(self) -> str:
        """The act in words."""
        return NOT_RIGHT if self.looked else self.act

    @property
    def why_not(self) -> str:
        """For one skipped: that it was left out or looked at and not right, and what was said of it."""
        return f"{NOT_RIGHT if self.looked else 'left out'}: {self.said or 'no reason given'}"


class Gauge(msgspec.Struct, frozen=True, gc=False):
    """A reading, as it was entered. `low` and `high` are the limits shown then."""

    seq: int
    what: str
    amount: Quantity
    at: Range
    step: str = ""
    pass_id: str = ""
    instrument: str = ""
    low: str = ""
    high: str = ""
    done_by: str = ""
    nipple: str = ""


@dataclass(frozen=True)
class Timeline:
    """Everything on one clock, in the journal's order; `start`, `end`: when the first and last entry were made."""

    start: int
    end: int
    actuations: tuple[Actuation, ...] = ()
    halves: tuple[Half, ...] = ()
    openings: tuple[Opening, ...] = ()
    acts: tuple[Act, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    exchanges: tuple[Exchange, ...] = ()
    pressurised: tuple[tuple[Span, tuple[int, ...]], ...] = ()
    entered: dict[int, int] = field(default_factory=dict)
    """When each entry was written, by seq."""
    live: frozenset[int] = frozenset()
    """The entries that were made as what they tell of was done."""
    ours: frozenset[str] = own.OWN
    """The steps that the job itself writes: without one that its procedure calls the same, which is the procedure's."""

    def said(self, word: str, pass_id: str | None = None) -> tuple[Act, ...]:
        """Return the acts by which the job itself says one of its own words, of one pass where given."""
        return self._said.get(word, ()) if pass_id is None else self._said_at.get((word, pass_id), ())

    @cached_property
    def _said(self) -> dict[str, tuple[Act, ...]]:
        return by((act for act in self.acts if act.step in self.ours), lambda act: act.step)

    @cached_property
    def _said_at(self) -> dict[tuple[str, str], tuple[Act, ...]]:
        return by((act for acts in self._said.values() for act in acts), lambda act: (act.step, act.pass_id))

    @cached_property
    def redone(self) -> tuple[tuple[int, str], ...]:
        """Each entry by which a pass was to be done again, in order; after air was drawn it was each that was begun."""
        found = [(act.seq, act.pass_id) for act in self.said(own.REDO) if act.pass_id and act.done]
        for act in self.said(own.PASSES_AGAIN):
            begun = {one.pass_id for one in self.openings if min(one.cites) < act.seq}
            begun |= {run.pass_id for run in self.actuations if run.seq < act.seq}
            found += ((act.seq, name) for name in begun if name and act.done)
        return tuple(sorted(found))

    @cached_property
    def again(self) -> dict[str, int]:
        """The entry by which each pass was last to be done again."""
        return {name: seq for seq, name in self.redone}

    def openings_of(self, nipple: str, pass_id: str | None = None) -> tuple[Opening, ...]:
        """Return the openings of a nipple, of one pass where given."""
        if pass_id is None:
            return self._openings_of.get(nipple, ())
        return self._openings_of_at.get((nipple, pass_id), ())

    def closed_early(self, nipple: str, pass_id: str) -> tuple[int, ...]:
        """Return the entries that close a nipple on a pass by their time before an opening that has no end."""
        every = self.openings_of(nipple, pass_id)
        unended = [one.open.start.low for one in every if one.closed is None]
        unbegun = [one for one in every if one.opened is None and one.open.end.high < max(unended, default=0)]
        return tuple(one.closed for one in unbegun if one.closed is not None)

    def openings_at(self, pass_id: str) -> tuple[Opening, ...]:
        """Return the openings of a pass."""
        return self._openings_at.get(pass_id, ())

    @cached_property
    def open_while(self) -> Moments[Opening]:
        """The openings by when they may have been open."""
        return Moments(self.openings, lambda one: one.open.possible)

    @cached_property
    def opened_at(self) -> Moments[Opening]:
        """The openings by when they may have been opened."""
        return Moments(self.openings, lambda one: (one.open.start.low, one.open.start.high))

    def open_in(self, run: Actuation) -> tuple[Opening, ...]:
        """Return the openings that lasted, or may have lasted, at some moment of a run; none if it never began."""
        return self._open_in.get(run.seq, ())

    @cached_property
    def _open_in(self) -> dict[int, tuple[Opening, ...]]:
        return {run.seq: self._open_during(run.ran) for run in self.actuations if run.ran is not None}

    def _open_during(self, span: Span) -> tuple[Opening, ...]:
        return tuple(one for one in self.open_while.within(*span.possible) if one.open.meets(span) != "no")

    def actuations_of(self, pass_id: str) -> tuple[Actuation, ...]:
        return self._actuations_of.get(pass_id, ())

    def run_that_counts(self, pass_id: str) -> Actuation | None:
        """Return the run a pass is judged by: the last that completed, else the last that began, else the last.

        Of a pass that was to be done again, those after that come first.
        """
        return self._runs_that_count.get(pass_id)

    def acts_affecting(self, *words: str) -> tuple[Act, ...]:
        """Return the steps done (not skipped) whose `affects` is one of `words`, in order."""
        if len(words) == 1:
            return self._affecting.get(words[0], ())
        return tuple(one for one in self._affecting_something if one.affects in words)

    def readings(self, what: str, pass_id: str | None = None) -> tuple[Gauge, ...]:
        """Return the readings of one thing, of one pass where given: without the volumes that were `misread`."""
        return self._read.get(what, ()) if pass_id is None else self._read_at.get((what, pass_id), ())

    def gauge(self, seq: int) -> Gauge | None:
        """Return the reading of an entry, None where it is none."""
        return self._gauges.get(seq)

    @cached_property
    def _gauges(self) -> dict[int, Gauge]:
        return {one.seq: one for one in self.gauges}

    @cached_property
    def _openings_of(self) -> dict[str, tuple[Opening, ...]]:
        return by(self.openings, lambda one: one.nipple)

    @cached_property
    def _openings_of_at(self) -> dict[tuple[str, str], tuple[Opening, ...]]:
        return by(self.openings, lambda one: (one.nipple, one.pass_id))

    @cached_property
    def _openings_at(self) -> dict[str, tuple[Opening, ...]]:
        return by(self.openings, lambda one: one.pass_id)

    @cached_property
    def _actuations_of(self) -> dict[str, tuple[Actuation, ...]]:
        return by(self.actuations, lambda one: one.pass_id)

    @cached_property
    def _runs_that_count(self) -> dict[str, Actuation]:
        return {
            name: _that_counts([one for one in runs if one.seq > self.again.get(name, -1)] or runs)
            for name, runs in self._actuations_of.items()
        }

    @cached_property
    def _affecting_something(self) -> tuple[Act, ...]:
        return tuple(one for one in self.acts if one.affects and one.done)

    @cached_property
    def _affecting(self) -> dict[str, tuple[Act, ...]]:
        return by(self._affecting_something, lambda one: one.affects)

    @cached_property
    def misread(self) -> dict[int, tuple[Gauge, Act]]:
        """The volumes that a person says were misread, and that were read again since or left unread, with that act.

        What was entered after a nipple of the pass was opened again is of another visit: it takes away nothing.
        """
        found: dict[int, tuple[Gauge, Act]] = {}
        said = [act for act in self.said(own.PUT_RIGHT) if act.mended]
        at_steps = by(self.gauges, lambda one: (one.step, one.pass_id)) if said else {}
        left_at = self._left_unread if said else {}
        for act in said:
            same, left = at_steps.get((act.answer, act.pass_id), ()), left_at.get((act.answer, act.pass_id), ())
            before = [one for one in same if one.seq < act.seq and one.what in VOLUMES]
            entered = (*((one.seq, one.nipple) for one in same), *((one.seq, one.nipple) for one in left))
            later = [seq for seq, nipple in entered if seq > act.seq and before and nipple == before[-1].nipple]
            if later and not self._opened_between(act.pass_id, before[-1].seq, min(later)):
                found[before[-1].seq] = (before[-1], act)
        return found

    @property
    def _left_unread(self) -> dict[tuple[str, str], tuple[Act, ...]]:
        """The acts by which a step was left out, or stays empty on a card, by step and pass."""
        found = by((act for act in self.acts if act.act == "skipped"), lambda act: (act.step, act.pass_id))
        empty = by(self.said(own.UNWRITTEN), lambda act: (act.answer, act.pass_id))
        return {key: (*found.get(key, ()), *empty.get(key, ())) for key in found.keys() | empty.keys()}

    def _opened_between(self, pass_id: str, first: int, final: int) -> bool:
        """Whether a nipple of a pass was opened between two entries: then the second is of another visit."""
        begun = (one.closed if one.opened is None else one.opened for one in self.openings_at(pass_id))
        return any(first < seq < final for seq in begun if seq is not None)

    @cached_property
    def _counted(self) -> tuple[Gauge, ...]:
        return tuple(one for one in self.gauges if one.seq not in self.misread) if self.misread else self.gauges

    @cached_property
    def _read(self) -> dict[str, tuple[Gauge, ...]]:
        return by(self._counted, lambda one: one.what)

    @cached_property
    def _read_at(self) -> dict[tuple[str, str], tuple[Gauge, ...]]:
        return by(self._counted, lambda one: (one.what, one.pass_id))


def _that_counts(runs: Sequence[Actuation]) -> Actuation:
    """Return the last of the runs of a pass that completed, else the last that began, else the last."""
    completed = [one for one in runs if one.outcome is not None and one.outcome.result == "completed"]
    began = [one for one in runs if one.began == "yes"]
    return (completed or began or runs)[-1]


def by(found: Iterable[T], key: Callable[[T], K]) -> dict[K, tuple[T, ...]]:
    """Return what was found by its key, each group in the order it was found in."""
    groups: defaultdict[K, list[T]] = defaultdict(list)
    for one in found:
        groups[key(one)].append(one)
    return {name: tuple(group) for name, group in groups.items()}

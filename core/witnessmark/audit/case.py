"""All that a question may look at: the job's documents, its timeline, its entries, and how its integrity was found.

The entries of one job flow in (from an evidence file or a journal). Rules that hold here: the procedure and the map
are the copies kept in the job's first entry, so that a later change of a file changes no finding.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Any, Protocol, TypeVar

from witnessmark import quantity
from witnessmark.audit.assemble import Read, assemble, body_of
from witnessmark.audit.cited import spell
from witnessmark.audit.moments import Moments
from witnessmark.audit.policy import DEFAULT, Policy
from witnessmark.audit.reconcile import Reconciled
from witnessmark.audit.timeline import Act, Gauge, Opening, Timeline, by
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.procedure import load, own
from witnessmark.procedure.model import Nipple, Pass, Procedure, Step
from witnessmark.procedure.plan import grown
from witnessmark.procedure.steps import each_step

NS = 1_000_000_000
FEED = ("pressurise", "depressurise", "feed-off")
CUE_GIVEN = own.CUE_GIVEN
"""The step by which an entry says that the machine called out to open a nipple."""
MISSED = own.MISSED
"""The step by which an entry says that a nipple was not opened while its run lasted."""
OPEN_LATER = own.LATER
"""The step by which an entry says that a nipple is opened only while its run lasts: put off, not left out."""
UNWRITTEN = own.UNWRITTEN
"""The step by which an entry says that a card leaves a point empty; `answer` is its step, or `open`, `close`, `run`."""
SILENT = "not written on the card"
"""What such an entry says: that nobody wrote, never that nothing was done."""
UNEXPLAINED = own.UNEXPLAINED
"""The step by which an entry says that a card leaves empty why what was read outside limits (at `answer`) stays."""
NO_REASON = "why it stays outside its limits is not written on the card"
"""What such an entry says."""
DOES = ("step", "reading", "armed", "intent", "outcome", "state")
"""Kinds of entries between which two readings are not one that was put right."""
B = TypeVar("B", bound=bodies.Body)
T = TypeVar("T")


class Integrity(Protocol):
    """How the check of the evidence came out: `verdict` is one of `audit.verify`'s, `text` says it in words."""

    @property
    def verdict(self) -> str: ...

    @property
    def text(self) -> str: ...


@dataclass(frozen=True)
class Case:
    """One job as the audit sees it. `integrity` is None when not checked.

    `plan` is the passes of its scope, in order, then those `added`: left out, and bled because of a mend.

    `read` is every entry with its body: what is asked of a body is asked of that one, and nothing is read twice.
    """

    entries: tuple[Entry, ...]
    read: tuple[Read, ...]
    opened: bodies.JobOpened
    opened_seq: int
    procedure: Procedure
    plan: tuple[Pass, ...]
    timeline: Timeline
    clock: Reconciled
    integrity: Integrity | None = None
    policy: Policy = DEFAULT

    @property
    def added(self) -> tuple[Pass, ...]:
        """The passes that its scope left out and that were taken in to be bled after a mend."""
        return self.plan[len(self.opened.plan) :]

    @cached_property
    def bodies(self) -> dict[int, bodies.Body]:
        """Each typed body by the number of its entry, in order."""
        return {entry.seq: body for entry, body in self.read if body is not None}

    @cached_property
    def _typed(self) -> dict[type, list[tuple[int, Any]]]:
        found: defaultdict[type, list[tuple[int, Any]]] = defaultdict(list)
        for entry, body in self.read:
            found[type(body)].append((entry.seq, body))
        return found

    def all_of(self, kind: type[B]) -> list[tuple[int, B]]:
        """Return every body of one type with the number of its entry, in order."""
        return self._typed.get(kind, [])

    def of_kind(self, kind: str) -> tuple[Entry, ...]:
        """Return every entry of one kind, in order."""
        return self._kinds.get(kind, ())

    @cached_property
    def _kinds(self) -> dict[str, tuple[Entry, ...]]:
        return by(self.entries, lambda entry: entry.kind)

    def nipple(self, name: str) -> Nipple:
        """Return the nipple of that id, one with only its id when the procedure does not have it."""
        return self._nipples.get(name) or Nipple(name, name, "")

    @cached_property
    def grades(self) -> dict[int, str]:
        """The grade of the run that an entry belongs to, by the number of the entry."""
        found: dict[int, str] = {}
        for run in self.timeline.actuations:
            kept = () if run.keepalive_seq is None else (run.keepalive_seq,)
            for seq in (*run.cites, *(one.seq for one in run.exchanges), *kept):
                found[seq] = run.grade
        return found

    @cached_property
    def witnessed_otherwise(self) -> bool:
        """Whether a run was not sent by us."""
        return bool(set(self.grades.values()) - {"sent"})

    @cached_property
    def _nipples(self) -> dict[str, Nipple]:
        return {one.id: one for one in self.procedure.nipples}

    def visit(self, pass_id: str, nipple: str) -> str:
        """Return what a finding calls a nipple on a pass; only the nipple where no pass is named."""
        return ", ".join(filter(None, (pass_id, self.nipple(nipple).name)))

    @cached_property
    def together(self) -> tuple[frozenset[str], ...]:
        """The groups of nipples that may be open at once."""
        return tuple(frozenset(group) for group in self.procedure.nipples_may_be_open_together)

    def may_be_open_together(self, one: Opening, other: Opening) -> bool:
        """Say whether the procedure lets two nipples be open at once: it says so, or one visit has both."""
        two = {one.nipple, other.nipple}
        one_visit = one.pass_id == other.pass_id and two <= set(self.nipples_of(one.pass_id))
        return one_visit or any(two <= group for group in self.together)

    @cached_property
    def _once(self) -> dict[Hashable, Any]:
        return {}

    def once(self, key: Hashable, judge: Callable[[], T]) -> T:
        """Return what `judge` finds of this case: found once for all questions that ask for it by the same key."""
        if key not in self._once:
            self._once[key] = judge()
        found: T = self._once[key]
        return found

    @cached_property
    def feed_acts(self) -> tuple[Act, ...]:
        """All that was done to the feed's pressure, in the order of the journal."""
        return tuple(act for act in self.timeline.acts if act.done and act.affects in FEED)

    @cached_property
    def fed_at(self) -> Moments[Act]:
        """All that was done to the feed's pressure, by when it was."""
        return Moments(self.feed_acts, lambda act: (act.at.low, act.at.high))

    @cached_property
    def pressurised_at(self) -> Moments[Act]:
        """Each time that the feed was put under pressure, by when it was."""
        on = (act for act in self.feed_acts if act.affects == "pressurise")
        return Moments(on, lambda act: (act.at.low, act.at.high))

    @cached_property
    def feed_read_at(self) -> Moments[Gauge]:
        """The readings of the feed's pressure, by when they were."""
        return Moments(self.timeline.readings("feed-pressure"), lambda one: (one.at.low, one.at.high))

    @cached_property
    def _steps(self) -> dict[str, Step]:
        return {step.id: step for _, step in each_step(self.procedure)}

    @property
    def step_ids(self) -> Collection[str]:
        """The names of all steps of the procedure."""
        return self._steps.keys()

    def step(self, name: str) -> Step | None:
        """Return the step of that id, None when the procedure does not have it."""
        return self._steps.get(name)

    def step_text(self, name: str) -> str:
        """Return what the procedure says of a step, empty when it does not have it."""
        return self._steps[name].text if name in self._steps else ""

    def nipples_of(self, pass_id: str) -> tuple[str, ...]:
        """Return the nipples of a pass, none when the procedure does not have it."""
        return self.passes[pass_id].nipples if pass_id in self.passes else ()

    @cached_property
    def passes(self) -> dict[str, Pass]:
        """Every pass of the procedure by its id, planned or not."""
        return {one.id: one for one in self.procedure.passes}

    @cached_property
    def seqs(self) -> frozenset[int]:
        """The numbers of all entries."""
        return frozenset(self.timeline.entered)

    def acts_at(self, pass_id: str) -> tuple[Act, ...]:
        """Return every act of a pass, of none for an empty name, then every reading as an act of its step."""
        return self._acts_at.get(pass_id, ())

    @cached_property
    def _acts_at(self) -> dict[str, tuple[Act, ...]]:
        read = (
            Act(one.seq, one.step, "read", one.at, one.pass_id, one.nipple, "", str(one.amount), one.done_by)
            for one in self.timeline.gauges
        )
        return by((*self.timeline.acts, *read), lambda act: act.pass_id)

    def is_said_besides(self, pass_id: str, word: str) -> bool:
        """Say whether an act of a pass, of a step that the procedure does not have, affects that word."""
        return (pass_id, word) in self._besides

    @cached_property
    def _besides(self) -> frozenset[tuple[str, str]]:
        strange = (act for act in self.timeline.acts if act.affects and act.step not in self._steps)
        return frozenset((act.pass_id, act.affects) for act in strange)

    @cached_property
    def untouched(self) -> tuple[Pass, ...]:
        """The planned passes with a nipple of which nothing says what was done: neither left out nor open."""
        seen = {(one.pass_id, one.nipple) for one in self.timeline.openings}
        seen |= {(act.pass_id, act.nipple) for act in self.left_out}
        return tuple(one for one in self.plan if any(not {(one.id, name), (one.id, "")} & seen for name in one.nipples))

    @cached_property
    def left_out(self) -> tuple[Act, ...]:
        """The acts that say that a visit or a nipple of one was left out, not only a step of it."""
        known = {*self.step_ids, OPEN_LATER}
        skipped = (act for act in self.timeline.acts if act.act == "skipped" and not act.looked)
        return tuple(act for act in skipped if act.step not in known)

    def read_again(self, one: Gauge) -> Gauge | None:
        """Return the reading that took the place of this one: of the same step, with nothing done in between."""
        again = self._next_read.get(one.seq)
        if again is None:
            return None
        then = bisect_right(self._does, one.seq)
        return None if then < len(self._does) and self._does[then] < again.seq else again

    @cached_property
    def _next_read(self) -> dict[int, Gauge]:
        """The next reading of the same thing at the same step, by the number of the one before."""
        same = by(self.timeline.gauges, lambda one: (one.what, one.pass_id, one.step, one.nipple))
        return {one.seq: later for group in same.values() for one, later in pairwise(group)}

    @cached_property
    def _does(self) -> list[int]:
        return sorted(entry.seq for entry in self.entries if entry.kind in DOES)

    def no_opening(self, pass_id: str, nipple: str) -> tuple[str, tuple[int, ...]]:
        """Return in words that no entry opens a nipple on a pass, and the entries on it: cues, and that it was not.

        A cue is the machine's: it says that somebody was called to open it, not that it was opened.
        """
        cues = tuple(
            act.seq for act in self.timeline.said(CUE_GIVEN, pass_id) if act.nipple == nipple and act.act != "read"
        )
        given = "the cue to open it was given, and " if cues else ""
        if missed := self.missed_at(pass_id, nipple):
            return f"{given}{not_opened(missed)}", (*cues, *missed)
        silent = self.unwritten("open", pass_id, nipple)
        return f"{given}{SILENT if silent else 'no entry says'} that it was opened", (*cues, *silent)

    def no_closing(self, pass_id: str, nipple: str) -> tuple[str, tuple[int, ...]]:
        """Return in words that nothing closes a nipple on a pass, with those left empty, or too early."""
        if early := self.timeline.closed_early(nipple, pass_id):
            return f"{spell(early)} closes it, at a time before it was opened", early
        closing = (step.id for step in self.procedure.steps_after_each_pass if "closed" in step.also)
        silent = tuple(seq for one in ("close", *closing) for seq in self.unwritten(one, pass_id, nipple))
        return f"{SILENT if silent else 'no entry says'} that it was closed", silent

    def unwritten(self, what: str, pass_id: str = "", nipple: str = "") -> tuple[int, ...]:
        """Return the entries that say that a card leaves a step, an opening, a closing or a run of a pass empty."""
        at = self._unwritten.get((what, pass_id))
        return tuple(act.seq for act in at if not nipple or act.nipple in ("", nipple)) if at else ()

    def unread(self, what: str) -> tuple[int, ...]:
        """Return the entries that say that a card leaves empty what a step reads, or affects, outside the passes."""
        own = self._steps.values()
        steps = (step.id for step in own if what in (step.what, step.affects, *step.also))
        return tuple(seq for step in steps for seq in self.unwritten(step))

    @cached_property
    def _unwritten(self) -> dict[tuple[str, str], tuple[Act, ...]]:
        return by(self.timeline.said(UNWRITTEN), lambda act: (act.answer, act.pass_id))

    def missed_at(self, pass_id: str, nipple: str) -> tuple[int, ...]:
        """Return the entries that say that a nipple was not opened while a run of this pass lasted."""
        return self._missed.get((pass_id, nipple), ())

    @cached_property
    def _missed(self) -> dict[tuple[str, str], tuple[int, ...]]:
        said = (act for act in self.timeline.said(MISSED) if act.act == "skipped")
        acts = by(said, lambda act: (act.pass_id, act.nipple))
        return {name: tuple(act.seq for act in each) for name, each in acts.items()}

    @cached_property
    def unrun(self) -> tuple[Pass, ...]:
        """The planned passes that need a wire command and have no entry of a run."""
        return tuple(one for one in self.actuating if not self.timeline.actuations_of(one.id))

    @cached_property
    def actuating(self) -> tuple[Pass, ...]:
        """The planned passes that need a wire command."""
        return tuple(one for one in self.plan if one.wire_command)

    def wire_command(self, name: str) -> dict[str, Any]:
        """Return the wire command's entry in the job's map, empty when there is none."""
        return self._wire_commands.get(name, {})

    @cached_property
    def _wire_commands(self) -> dict[str, dict[str, Any]]:
        commands = (self.opened.map or {}).get("wire_commands", ())
        return {one["id"]: one for one in reversed(commands) if isinstance(one.get("id"), str)}


def open_case(entries: Sequence[Entry], integrity: Integrity | None = None, policy: Policy = DEFAULT) -> Case:
    """Return the case of one job's entries. Raises InputError when they are not one job or have no beginning."""
    mine = tuple(entry for entry in entries if entry.job is not None)
    jobs = {entry.job for entry in mine}
    if len(jobs) != 1:
        what = f"the entries belong to {len(jobs)} jobs" if jobs else "there is no entry of a job"
        raise InputError(what, place="evidence", hint="give the evidence file of one job")
    first = next((entry for entry in mine if entry.kind == "job-opened"), None)
    opened = None if first is None else body_of(first)
    if first is None or not isinstance(opened, bodies.JobOpened):
        raise InputError(
            "the entry that opens the job is missing", place="evidence", hint="ask for the whole evidence file"
        )
    procedure = load.from_document(opened.procedure, place=f"entry {first.seq}, procedure")
    passes = {one.id for one in procedure.passes}
    unknown = [name for name in opened.plan if name not in passes]
    if unknown:
        raise InputError(f"pass {unknown[0]!r} is not in the procedure", place=f"entry {first.seq}, plan", hint="")
    clock = Reconciled(mine)
    ours = own.OWN.difference(step.id for _, step in each_step(procedure))
    read = tuple((entry, opened if entry is first else body_of(entry)) for entry in mine)
    return Case(
        entries=mine,
        read=read,
        opened=opened,
        opened_seq=first.seq,
        procedure=procedure,
        plan=_plan(procedure, opened, read),
        timeline=assemble(read, clock, ours),
        clock=clock,
        integrity=integrity,
        policy=policy,
    )


def corrected(case: Case, entries: tuple[Entry, ...]) -> Case:
    """Return the case with some bodies as they were corrected: whatever stayed as it was is not read again.

    `entries` are those of the case, in its order. Raises InputError as `open_case` does.
    """
    if any(one.kind == "job-opened" and one is not was for one, was in zip(entries, case.entries, strict=True)):
        return open_case(entries, case.integrity, case.policy)
    read = tuple(pair if one is pair[0] else (one, body_of(one)) for one, pair in zip(entries, case.read, strict=True))
    moved = any(one.occurred is not was.occurred for one, was in zip(entries, case.entries, strict=True))
    clock = Reconciled(entries) if moved else case.clock
    plan = _plan(case.procedure, case.opened, read)
    timeline = assemble(read, clock, case.timeline.ours)
    return replace(case, entries=entries, read=read, clock=clock, plan=plan, timeline=timeline)


def _plan(procedure: Procedure, opened: bodies.JobOpened, read: Iterable[Read]) -> tuple[Pass, ...]:
    """Return the passes of a job: those it was opened with, then each that an entry has done again besides."""
    steps = (body for _, body in read if isinstance(body, bodies.StepDone) and body.step == own.REDO)
    return grown(procedure, opened.plan, (body.pass_id for body in steps))


def not_opened(missed: Sequence[int]) -> str:
    """Return in words which entries say that a nipple was not opened."""
    return f"{spell(missed)} {'says' if len(missed) == 1 else 'say'} that it was not opened while it ran"


@lru_cache(1024)
def time_ns(text: str) -> int:
    """Return a quantity of time that a procedure gives, in ns."""
    return round(quantity.convert(quantity.parse(text, place="procedure"), "s") * NS)

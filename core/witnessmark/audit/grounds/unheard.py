"""The times in which nobody listened to the bus: what another tester ran then is in no entry.

A case flows in; those times flow out, and what they leave without proof. Rules that hold here: a run is only heard
while a program listens, so what lies between two such times proves nothing, whatever was heard on both sides of it; it
counts for a job that was opened as heard, and in another for the passes that were heard; where the entries do not say
when listening began and ended, a loss of the link, a pause and the end of the program stand for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from witnessmark.audit import ends, say
from witnessmark.audit.case import NS, Case
from witnessmark.audit.moments import Moments
from witnessmark.audit.verdict import Detail
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.range import Range, Span, exact

LISTENING, LEFT, SILENT, HELD_UP = "listening", "not listening", "bus silent", "held up"
"""Events: it listens from here on; it was ended; nothing came for so long; it did not look for so long."""
ENDS = {"lost": "the link was lost", LEFT: "listening was ended", SILENT: "nothing at all came on the bus"}
"""The events with which listening ends, in words."""
MISSED = {"garbled": "what came could not be read", "bus_error": "the bus had errors", "bus_off": "the bus was off"}
"""The events by which something of the bus is known to be missing at that moment."""
MISSED_NS = 10 * NS
"""How long after such an event more of the same may have come: so long it is not written again."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A time in which nobody listened, why, and the entries that say so."""

    span: Span
    why: str
    cites: tuple[int, ...]

    @property
    def text(self) -> str:
        first, last = say.clock(self.span.start), say.clock(self.span.end)
        return f"we did not listen from {first} to {last} ({self.why}): what another tester ran then is in no entry"


def gaps(case: Case) -> Moments[Gap]:
    """Return when nobody listened; none for a job of which nothing was to be heard."""
    return case.once("unheard gaps", lambda: Moments(_gaps(case), lambda gap: gap.span.possible))


def _gaps(case: Case) -> list[Gap]:
    concerned = case.opened.grade == "heard" or any(run.grade == "heard" for run in case.timeline.actuations)
    return [*_asleep(case), *_Walk(case).found()] if concerned else []


def while_open(case: Case) -> Iterator[Detail]:
    """Name each nipple that was, or may have been, open while nobody listened."""
    found = gaps(case)
    for one in case.timeline.openings:
        if _is_heard(case, one.pass_id):
            name = case.nipple(one.nipple).name
            yield from _details(one.pass_id or name, f"{name} open: ", one.open, found, one.cites)


def between_runs(case: Case, rests_ns: Mapping[str, int] | None = None) -> Iterator[Detail]:
    """Name each two runs, one of them heard, between which nobody listened, and the last where nobody heard its end.

    `rests_ns` is how long nothing may have run before a run of a wire command: before the first, that time counts too.
    """
    found = gaps(case)
    known = [(run, run.ran) for run in case.timeline.actuations if run.ran is not None and run.began != "no"]
    known.sort(key=lambda one: one[1].start.low)
    for run, ran in known[:1]:
        if run.grade == "heard" and rests_ns:
            first = Range(ran.start.low - rests_ns.get(run.wire_command, 0), ran.start.low)
            yield from _details(run.subject, "before it: ", Span(first, ran.start), found, run.cites)
    for (earlier, before), (later, after) in pairwise(known):
        if case.opened.grade == "heard" or "heard" in (earlier.grade, later.grade):
            since = Range(min(before.end.low, after.start.low), min(before.end.high, after.start.high))
            cites = (*earlier.cites, *later.cites)
            yield from _details(later.subject, f"after {earlier.subject}: ", Span(since, after.start), found, cites)
    for run, ran in known[-1:]:
        if run.grade == "heard" and ends.unseen(run):
            yield from _details(run.subject, "after its start: ", ran, found, run.cites)


def only_told(case: Case) -> str:
    """Return what a sentence on all runs must add where some were told: nobody listened for any other. Else empty."""
    told = any(run.grade == "told" for run in case.timeline.actuations)
    return ", as far as runs were told: nobody listened for others" if told else ""


def around_the_work(case: Case) -> tuple[Detail, ...]:
    """Return every time in which nobody listened while a nipple was open or between two runs, each once."""
    return case.once("unheard around the work", lambda: _around_the_work(case))


def _around_the_work(case: Case) -> tuple[Detail, ...]:
    each = (*while_open(case), *between_runs(case))
    return tuple({(one.subject, one.text.partition("we did not")[2]): one for one in each}.values())


def _details(subject: str, where: str, span: Span, found: Moments[Gap], cites: tuple[int, ...]) -> Iterator[Detail]:
    for gap in found.within(*span.possible):
        if gap.span.meets(span) != "no":
            yield Detail(subject, "no proof", f"{where}{gap.text}", (*cites, *gap.cites))


def _is_heard(case: Case, pass_id: str) -> bool:
    """Whether a pass rests on what was heard: in a job that was opened so, each that we did not run ourselves."""
    grades = {run.grade for run in case.timeline.actuations_of(pass_id)}
    return "heard" in grades or (case.opened.grade == "heard" and "sent" not in grades)


def _asleep(case: Case) -> Iterator[Gap]:
    """The machine slept, or was started anew: nothing of it listened."""
    for one in case.clock.disturbances:
        if one.kind == "asleep":
            first, last = (case.timeline.entered[seq] for seq in one.cites)
            yield Gap(Span(exact(first), exact(max(first, last))), "the machine slept", one.cites)


class _Walk:
    """One walk over the entries of a job: what ended listening, and what began it again."""

    def __init__(self, case: Case) -> None:
        self._case = case
        self._told = any(body.what == LISTENING for _, body in case.all_of(bodies.LinkEvent))
        """Whether the entries say themselves when listening began."""
        self._open: tuple[Range, str, int] | None = None
        self._found: list[Gap] = []

    def found(self) -> list[Gap]:
        before: Entry | None = None
        for entry, body in self._case.read:
            if before is None or before.recorded.process != entry.recorded.process:
                self._program(before or entry, entry)
            if isinstance(body, bodies.LinkEvent):
                self._event(entry, body.what)
            elif isinstance(body, bodies.State) and not self._told:
                if body.state == "paused":
                    self._end(entry, "the job was paused")
                elif body.state == "open":
                    self._end(before or entry, "the job was left")
                    self._begin(entry)
            before = entry
        if before is not None and self._open is not None:
            self._begin(before)
        return self._found

    def _program(self, before: Entry, entry: Entry) -> None:
        """Another program wrote on: none listened in between."""
        self._end(before, "no program of this job ran")
        if not self._told:
            self._begin(entry)

    def _event(self, entry: Entry, what: str) -> None:
        at = self._case.clock.occurred(entry)
        now = self._case.timeline.entered[entry.seq]
        if what == LISTENING:
            self._begin(entry)
        elif what == HELD_UP:
            self._found.append(
                Gap(Span(exact(at.low), exact(max(at.low, now))), "the listener was held up", (entry.seq,))
            )
        elif what in ENDS:
            self._end(entry, ENDS[what], at.low)
        elif what in MISSED:
            self._found.append(Gap(Span(exact(at.low), exact(now + MISSED_NS)), MISSED[what], (entry.seq,)))

    def _end(self, entry: Entry, why: str, at_ns: int | None = None) -> None:
        if self._open is None:
            self._open = (exact(self._case.timeline.entered[entry.seq] if at_ns is None else at_ns), why, entry.seq)

    def _begin(self, entry: Entry) -> None:
        if self._open is None:
            return
        since, why, seq = self._open
        self._open = None
        now = max(since.low, self._case.timeline.entered[entry.seq])
        if now > since.low:
            self._found.append(Gap(Span(since, exact(now)), why, (seq, entry.seq)))

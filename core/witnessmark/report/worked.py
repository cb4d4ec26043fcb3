"""When the work of a job was done: for what was keyed in afterwards what is written, not when it was typed.

A case flows in, its first and last moment flow out. Rules that hold here: a job of which nothing was keyed in lasts
from its first entry to its last, but for what is added to the record beside the work; of one that was keyed in all work
counts of which a time is written; where none is, it is the day.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.journal import kinds
from witnessmark.journal.entry import Entry
from witnessmark.report.times import vague

WORK = frozenset((*kinds.WORK, "condition"))
"""The kinds of entry that say what was done at the vehicle; the others are about the record or about the job."""
BESIDE = frozenset((*kinds.BESIDE, "left"))
"""The kinds of entry that are no work: made at the desk at any time, or as a program ends."""
FAR_NS = 366 * say.DAY * say.NS
"""No job rests longer: where the clocks say so, papers name the entry. A choice of this project."""


@dataclass(frozen=True, slots=True)
class Worked:
    """The first and the last moment (ns), `known` where a time is; `typed`: from when to when work was keyed in."""

    start: int
    end: int
    typed: tuple[int, int] | None = None
    known: bool = True


def worked(case: Case) -> Worked:
    """Return when the work of a job was done."""
    work = [one for one in case.entries if one.kind in WORK]
    keyed = [case.clock.recorded(one) for one in work if one.occurred.basis == "typed"]
    if not keyed:
        end = max((case.clock.recorded(one) for one in case.entries if one.kind not in BESIDE), default=0)
        return Worked(case.timeline.start, end)
    known = [case.clock.occurred(one) for one in work if _timed(case, one)]
    of = known or [case.clock.occurred(one) for one in work]
    typed = min(keyed), max(keyed)
    return Worked(min(one.low for one in of), max(one.high for one in of), typed, known=bool(known))


def _timed(case: Case, entry: Entry) -> bool:
    """Whether an entry says when it was: a machine does, a card where a time is written on it."""
    return entry.occurred.timed or (entry.occurred.basis != "typed" and not vague(case.clock.occurred(entry)))


def leaps(case: Case) -> str:
    """Name each entry that its clock puts more than a year after the one before it, empty where there is none."""
    at = [(entry.seq, case.clock.recorded(entry)) for entry in case.entries]
    far = [(before, seq, now - then) for (before, then), (seq, now) in pairwise(at) if now - then > FAR_NS]
    said = (f"{say.roughly(length)} between entries {before} and {seq}" for before, seq, length in far)
    return f"the clocks put {say.listing(said)}" if far else ""

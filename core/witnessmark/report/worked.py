"""When the work of a job was done: for what was keyed in afterwards what is written, not when it was typed.

A case flows in, its first and last moment flow out. Rules that hold here: a job of which nothing was keyed in lasts
from its first entry to its last; of one that was keyed in all work counts of which a time is written; where none is, it
is the day.
"""

from __future__ import annotations

from dataclasses import dataclass

from witnessmark.audit.case import Case
from witnessmark.report.times import vague

WORK = frozenset(("step", "reading", "condition", "armed", "intent", "outcome", "inspection", "first-use"))
"""The kinds of entry that say what somebody did to the vehicle; the others are about the record or about the job."""


@dataclass(frozen=True, slots=True)
class Worked:
    """The first and the last moment (ns); `typed` where work was keyed in afterwards, `known` where a time is."""

    start: int
    end: int
    typed: bool = False
    known: bool = True


def worked(case: Case) -> Worked:
    """Return when the work of a job was done."""
    start, end = case.timeline.start, case.timeline.end
    work = [one for one in case.entries if one.kind in WORK]
    if not any(one.occurred.basis == "typed" for one in work):
        return Worked(start, end)
    done = [case.clock.occurred(one) for one in work]
    known = [one for one in done if not vague(one)]
    of = known or done
    return Worked(min(one.low for one in of), max(one.high for one in of), typed=True, known=bool(known))

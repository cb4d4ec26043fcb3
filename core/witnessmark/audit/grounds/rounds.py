"""The rounds of a job: its planned passes, then what was bled again for each mend, or was taken in besides.

A case flows in, rounds flow out, as they were. Rules that hold here: a pass that is to be done again begins a round of
its own, or is of the one that began since the same mend, where a check was answered no or a mend was said before that
and it and all planned after it had been done; else it is of the first round; what the scope left out is never of it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import asked
from witnessmark.audit.grounds.mends import every_mend
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Opening
from witnessmark.procedure.words import FINAL_CHECKS

LAST = 1 << 62
"""After every entry."""
Visits = Sequence[tuple[str, Sequence[Sequence[Opening]]]]
"""Passes in their order, each with the openings of each of its nipples."""


@dataclass(frozen=True, slots=True)
class Round:
    """`visits` in the planned or the procedure's order; `again`: what was to be done again within it, and the entry.

    `name` says in words what a later round was for, with its passes; empty for the first.
    """

    visits: Visits
    again: Mapping[str, int]
    name: str = ""


@dataclass(slots=True)
class _Later:
    """A round after the first: the entries by which its passes were first to be done in it, and to be done again."""

    why: str
    begun: dict[str, int] = field(default_factory=dict)
    again: dict[str, int] = field(default_factory=dict)


def rounds(case: Case) -> tuple[Round, ...]:
    """Return the rounds of a job, the first of its planned passes."""
    again: dict[str, int] = {}
    done = _done_by(case)
    turns = _turns(case)
    later: dict[int, _Later] = {}
    for seq, name in case.timeline.redone:
        turn = bisect_left(turns, (seq, ""))
        if name in done and not (turn and done[name] < seq):
            again[name] = seq
        elif name in case.passes:
            one = later.setdefault(turn, _Later(turns[turn - 1][1] if turn else ""))
            (one.again if name in one.begun else one.begun)[name] = seq
    begun: dict[str, int] = {}
    for one in reversed(later.values()):
        begun |= one.begun
    planned = (one.id for one in case.plan if one.id in done or one.id not in begun)
    first = [(name, _openings(case, name, -1, begun.get(name, LAST))) for name in planned]
    taken = {(name, seq) for name, seq in begun.items() if name not in done}
    return (Round(first, again), *_later(case, tuple(later.values()), taken))


def _later(case: Case, later: Sequence[_Later], taken: Set[tuple[str, int]]) -> list[Round]:
    """Return the rounds after the first; what is opened for a pass before the round that takes it in is of that."""
    found: list[Round] = []
    ends: dict[str, int] = {}
    for one in reversed(later):
        begun = {each.id: one.begun[each.id] for each in case.procedure.passes if each.id in one.begun}
        new = {name for name, seq in begun.items() if (name, seq) in taken}
        each = [
            (name, _openings(case, name, -1 if name in new else seq, ends.get(name, LAST)))
            for name, seq in begun.items()
        ]
        found.append(Round(each, one.again, _name(one.why, begun, new)))
        ends |= begun
    return found[::-1]


def _name(why: str, begun: Mapping[str, int], new: Set[str]) -> str:
    passes = listing(f"{name} (entry {seq}{', taken in' if name in new else ''})" for name, seq in begun.items())
    return f"bled {'' if begun.keys() <= new else 'again '}{why or 'besides'}: {passes}"


def _done_by(case: Case) -> dict[str, int]:
    """Return by which entry each planned pass, and all planned after it, had been opened first."""
    found: dict[str, int] = {}
    by = -1
    for name in reversed(case.opened.plan):
        by = max(
            by, min((one.opened for one in case.timeline.openings_at(name) if one.opened is not None), default=LAST)
        )
        found[name] = by
    return found


def _turns(case: Case) -> list[tuple[int, str]]:
    """Return the entries that say what was mended, or that a check was not right, in order, each with its words."""
    checks = {step.id for step in asked(case, *FINAL_CHECKS)}
    noes = (
        (act.seq, "after a check that was not right") for act in case.timeline.acts if act.looked and act.step in checks
    )
    return sorted((*noes, *((one.act.seq, "after a mend") for one in every_mend(case))))


def _openings(case: Case, name: str, since: int, until: int) -> list[list[Opening]]:
    """Return the openings of each nipple of a pass between two entries."""
    return [
        [
            one
            for one in case.timeline.openings_of(nipple, name)
            if one.opened is not None and since < one.opened < until
        ]
        for nipple in case.nipples_of(name)
    ]

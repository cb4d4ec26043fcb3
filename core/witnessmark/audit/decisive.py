"""Which corrections an answer is due to, of a question whose answer they change.

A case, a question and its two findings flow in, the corrected entries that count flow out. Rules that hold here: a
correction counts where it alone changes the answer as first written, or where without it the answer as corrected would
be otherwise; of many those alone are tried that the finding rests on, or its changed parts; where those are many too,
or the questions before had as much tried as a whole audit may, they are named untried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence, Set

from witnessmark.audit.verdict import Answer, Finding

MOST_TRIED = 16
"""So many readings a whole audit tries: each takes it about as long again as it took to open the case."""

Reading = frozenset[int]
"""The entries that are corrected in a reading of the record: in it, the others stand as they were first written."""
Answers = Callable[[Reading], Answer]
"""Gives the answer of a reading."""


def decisive(
    near: Sequence[int],
    every: Iterable[int],
    first: Finding,
    corrected: Finding,
    answers: Answers,
    tried: Set[Reading] = frozenset(),
) -> Sequence[int]:
    """Return which of the corrected entries change the answer; `near` are those that the two findings rest on.

    `tried` are the readings that were tried already, for another question.
    """
    all_ = frozenset(every)
    if len(all_) == 1:
        return near
    parts = {(one.subject, one.answer) for one in first.details} ^ {
        (one.subject, one.answer) for one in corrected.details
    }
    changed = {
        seq
        for each in (first, corrected)
        for one in each.details
        if (one.subject, one.answer) in parts
        for seq in one.cites
    }
    pools = [pool for pool in (all_, {*near}, changed.intersection(near)) if pool]
    pool = next((pool for pool in pools if len(tried | _readings(all_, pool)) <= MOST_TRIED), None)
    if pool is None:
        return sorted(pools[-1])
    alone = {seq for seq in pool if answers(frozenset({seq})) != first.answer}
    needed = {seq for seq in pool - alone if answers(all_ - {seq}) != corrected.answer}
    return sorted(alone | needed) or near


def _readings(every: frozenset[int], pool: Iterable[int]) -> set[Reading]:
    """Return those that tell of each of the pool whether it changes the answer, alone or beside the others."""
    return {reading for seq in pool for reading in (frozenset({seq}), every - {seq})}

"""Containers that were read, and which of them were filled from.

A case flows in, the entries of pouring flow out, and which readings of a label were put right before any was poured.
Rules that hold here: of a step that was read more often each reading may be another container; one counts when fluid
was filled in, or a nipple opened, before the next was read; the last one always counts. A label that was left out is
no reading of a container, and nothing that is read later puts it right. What was poured before any label was read, or
after one that a card leaves empty, came from a container of which nothing is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from witnessmark.audit.case import Case
from witnessmark.audit.timeline import Act

NOBODY = "fluid came from a container that no entry says was read"
LAST = 1 << 62
"""After every entry."""


def filled(case: Case) -> tuple[int, ...]:
    """Return the entries by which fluid was filled in."""
    return case.once("containers filled", lambda: _filled(case))


def _filled(case: Case) -> tuple[int, ...]:
    read = (one.seq for one in case.timeline.readings("volume-in"))
    return (*read, *(act.seq for act in case.timeline.acts_affecting("refill")))


def used(read: Sequence[int], poured: Sequence[int]) -> list[int]:
    """Return which of the readings `read` of one step had something poured before the next."""
    return [seq for seq, end in pairwise([*read, LAST]) if any(seq < one < end for one in poured)]


def unknown(case: Case, read: Sequence[int], silent: Sequence[int]) -> list[int]:
    """Return the entries by which fluid came from a container that nobody read, or that a card leaves its label empty.

    `read` are the entries of its labels, `silent` those by which a card leaves one empty.
    """
    looks = sorted({*read, *silent})
    poured = filled(case)
    first = [seq for seq in poured if looks and seq < looks[0]]
    return [*first, *(seq for seq in used(looks, poured_at(case)) if seq in silent)]


def poured_at(case: Case) -> tuple[int, ...]:
    """Return the entries by which fluid was filled in, or a nipple opened, so that it ran into the lines."""
    return (*filled(case), *(one.opened for one in case.timeline.openings if one.opened is not None))


def put_right(case: Case, acts: Sequence[Act]) -> list[Act]:
    """Return those of `acts` that were read again at their step before anything of that container was poured."""
    poured = poured_at(case)
    found = []
    for what in dict.fromkeys((act.step, act.affects) for act in acts):
        here = [act for act in acts if (act.step, act.affects) == what]
        read = list(dict.fromkeys(act.seq for act in here if act.done))
        kept = {*used(read, poured), *read[-1:]}
        found += [act for act in here if act.done and act.seq not in kept]
    return found

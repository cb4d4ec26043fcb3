"""Bottles: with which of them what ran out at a nipple was read, and which of them nobody read.

A case flows in; ends of bottles, names of passes and acts flow out. Rules that hold here: a bottle that was left unread
belongs to the visits before it, and a reading of a later visit, of the same pass too, makes good for none of it; it
also ends what is read with a later one, for what was in it may have been spilled.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import TypeVar

from witnessmark.audit.case import UNWRITTEN, Case
from witnessmark.audit.timeline import Act, Gauge, Opening, by

LAST = 1 << 62
"""After every entry."""


@dataclass(frozen=True, slots=True)
class End:
    """The entry by which a bottle was read at a pass; `left` is the act that says instead that nobody read it."""

    seq: int
    pass_id: str
    nipple: str
    left: Act | None = None


T = TypeVar("T", End, Gauge)


def end_of(case: Case, one: Opening) -> End | None:
    """Return by which entry what ran out at an opening was read, or left unread; None where no entry says either.

    It is the first of its own pass after the opening; of a pass that shares a bottle with another the first at all,
    unless its own was read before it was opened again. Of a bottle read and then left unread, unread is the last word.
    """
    return _ends(case)[one]


def _ends(case: Case) -> dict[Opening, End | None]:
    return case.once("bottles-ends", lambda: {one: _end_of(case, one) for one in case.timeline.openings})


def _end_of(case: Case, one: Opening) -> End | None:
    since = _begun(case, one)
    again = begun_next(case, one.pass_id, since)
    own = _after(_ends_at(case, one.pass_id), since)
    ends: Iterator[End] = (end for end in own if _same(end.nipple, one.nipple))
    first = next(ends, None)
    if one.pass_id in _shared(case) and (first is None or first.seq >= again):
        ends = _after(_ends_at(case), since)
        first = next(ends, None)
    if first is None or first.left:
        return first
    near = takewhile(lambda end: end.seq < again and end.pass_id == first.pass_id, ends)
    return next((end for end in near if end.left), first)


def _after(found: Sequence[T], seq: int) -> Iterator[T]:
    """Yield those after an entry of what is in the order of the entries."""
    at = bisect_right(found, seq, key=lambda one: one.seq)
    return (found[index] for index in range(at, len(found)))


def _begun(case: Case, one: Opening) -> int:
    """Return the entry that opens; where none does, and its pass was open before, the one before it was closed."""
    if one.opened is not None:
        return one.opened
    return -1 if one is case.timeline.openings_at(one.pass_id)[0] else (one.closed or 0) - 1


def begun_next(case: Case, pass_id: str, since: int) -> int:
    """Return the next entry that shows that a nipple of a pass was open: its opening, else its closing."""

    def find() -> list[int]:
        begun = (one.closed if one.opened is None else one.opened for one in case.timeline.openings_at(pass_id))
        return sorted(seq for seq in begun if seq is not None)

    begun = case.once(("bottles-begun", pass_id), find)
    at = bisect_right(begun, since)
    return begun[at] if at < len(begun) else LAST


def _ends_at(case: Case, pass_id: str = "") -> Sequence[End]:
    """Return the ends of all bottles in order, or of those of one pass."""

    def find() -> dict[str, tuple[End, ...]]:
        read = (End(one.seq, one.pass_id, one.nipple) for one in case.timeline.readings("volume"))
        left = (End(act.seq, act.pass_id, act.nipple, act) for act in left_unread(case))
        ends = tuple(sorted((*read, *left), key=lambda one: one.seq))
        return {**by(ends, lambda one: one.pass_id), "": ends}

    return case.once("bottles-all-ends", find).get(pass_id, ())


def _same(nipple: str, other: str) -> bool:
    return nipple == other or "" in (nipple, other)


def _shared(case: Case) -> dict[str, str]:
    """Return each planned pass that shares a bottle with another, with that one."""

    def find() -> dict[str, str]:
        planned = {one.id for one in case.plan}
        return {one.id: one.bottle_with for one in case.plan if one.bottle_with in planned}

    return case.once("bottles-shared", find)


def was_read(case: Case, one: Opening) -> bool:
    """Whether what ran out at an opening was read: with a volume entered after it, of a bottle not left unread."""
    end = end_of(case, one)
    return end is not None and end.left is None


def lost(case: Case, pass_id: str) -> tuple[Act, ...]:
    """Return the acts that say that what ran out at openings of a pass was left unread, in order, each once."""
    ends = (end_of(case, one) for one in case.timeline.openings_at(pass_id))
    return tuple({end.seq: end.left for end in ends if end and end.left}.values())


def into(case: Case, pass_id: str, seq: int = LAST) -> tuple[Opening, ...]:
    """Return the openings of which what ran out was read with the bottle of a pass, where given with the one at `seq`.

    What was read at `seq` is what ran out since the bottle was read before; nothing did, then it was read once more.
    """
    found = ((one, end) for one, end in _ends(case).items() if end and not end.left)
    read = case.once("bottles-into", lambda: by(found, lambda each: each[1].pass_id)).get(pass_id, ())
    if seq == LAST:
        return tuple(one for one, _ in read)
    last = max((end.seq for _, end in read if end.seq <= seq), default=-1)
    return tuple(one for one, end in read if end.seq == last)


def read_with(case: Case, pass_id: str) -> str:
    """Return the pass with which what ran out at `pass_id` was read: itself, or a later one."""
    return elsewhere(case).get(pass_id, pass_id)


def elsewhere(case: Case) -> dict[str, str]:
    """Return for each planned pass that shares a bottle with another the pass with which it was read.

    That is the one it shares it with, or any before that; one whose own bottle was read stands for itself. A bottle
    that was left unread ends it: what was in that one may have been spilled, and is in no later one for sure.
    """
    return case.once("bottles-elsewhere", lambda: _elsewhere(case))


def _elsewhere(case: Case) -> dict[str, str]:
    read = {one.pass_id for one in case.timeline.readings("volume")}
    found = {}
    for name, other in _shared(case).items():
        if name not in read:
            ends = [end for one in case.timeline.openings_at(name) if (end := end_of(case, one))]
            known = [end for end in ends if not end.left]
            found[name] = (known or ends)[0].pass_id if ends else other
    return found


def left_unread(case: Case) -> tuple[Act, ...]:
    """Return the acts that say that nobody read how much was in a bottle, where it was not read after all.

    One that is read only after a nipple that runs into it was opened again is another.
    """
    return case.once("bottles-unread", lambda: _unread(case))


def _unread(case: Case) -> tuple[Act, ...]:
    empty = case.timeline.ours.intersection((UNWRITTEN,))
    silent = (act for act in case.timeline.acts if act.pass_id and (act.act == "skipped" or act.step in empty))
    steps = ((act, case.step(act.answer if act.step in empty else act.step)) for act in silent)
    return tuple(act for act, step in steps if step and step.what == "volume" and not _after_all(case, act))


def _after_all(case: Case, left: Act) -> bool:
    """Whether a bottle left unread was read later, before anything ran into it again."""
    read = _after(case.timeline.readings("volume", left.pass_id), left.seq)
    first = next((one.seq for one in read if _same(one.nipple, left.nipple)), None)
    if first is None:
        return False
    sharing = case.once("bottles-sharing", lambda: by(_shared(case).items(), lambda each: each[1])).get(
        left.pass_id, ()
    )
    names = (left.pass_id, *(name for name, _ in sharing))
    return not any(begun_next(case, name, left.seq) < first for name in names)

"""What made it safe to open and was undone since: it is made safe once more before each opening that comes after.

A case flows in, a detail for each opening that lacks it flows out. Rules that hold here: a service mode is undone by
leaving it, supports by putting the wheels on or driving, a reading that shows that nothing presses by each of them;
what was said or read before that vouches for no opening after it; nothing is asked of a job in which nothing was
opened after it was undone. What is mended at a check is held to the same; where that was not made safe first, what a
person says of it counts as told.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import zip_longest
from typing import NamedTuple

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import asked, done
from witnessmark.audit.grounds.mends import Mend, every_mend
from witnessmark.audit.grounds.sequence import Mark, Placed, may_precede, not_after, opened
from witnessmark.audit.timeline import Act, Opening
from witnessmark.audit.verdict import Answer, Detail
from witnessmark.procedure.model import Step
from witnessmark.procedure.own import WAS_SAFE
from witnessmark.procedure.safe import safe_first
from witnessmark.procedure.words import UNDONE_BY

BY_ANY = tuple(word for words in UNDONE_BY.values() for word in words)
"""What undoes a reading: a unit that leaves its service mode, or works, builds up its pressure."""
TOLD = "told: "
"""How it begins that a person says afterwards that it was made safe."""


def undone(case: Case) -> Iterator[Detail]:
    """Name each opening before which something was undone that made it safe, and not done again."""
    first = safe_first(case.procedure)
    for word, words in UNDONE_BY.items():
        for step in asked(case, word):
            if step in case.procedure.steps_before and step not in first:
                yield from _openings(case, step, step.text, word, _undoing(case, *words))
    for step in first:
        yield from _openings(case, step, (step.what or step.id).replace("-", " "), "", _undoing(case, *BY_ANY))


def _undoing(case: Case, *words: str) -> list[Placed]:
    """Return what undoes it, by the place in the journal; wheels that were torqued are on."""
    acts: list[Placed] = [*case.timeline.acts_affecting(*words)]
    wheels = case.timeline.readings("wheel-torque") if "wheels-torqued" in words else ()
    return sorted({one.seq: one for one in (*wheels, *acts)}.values(), key=lambda one: one.seq)


def _openings(case: Case, step: Step, subject: str, word: str, undoing: Sequence[Placed]) -> Iterator[Detail]:
    if not undoing:
        return
    each = [one.id for one in case.plan] if step in case.procedure.steps_before_each_pass else []
    made_at = {at: sorted(filter(_is_done, done(case, step, word, pass_id=at)), key=_seq) for at in (*each, "")}
    of_any = sorted((act for acts in made_at.values() for act in acts), key=_seq)
    undone_at = [one.seq for one in undoing]
    for work in (*map(partial(_of_opening, case), case.timeline.openings), *_of_mends(case)):
        place = bisect_left(undone_at, work.mark.seq)
        if not place or not may_precede(case, undoing[place - 1], work.mark):
            continue
        last, made = undoing[place - 1], made_at.get(work.pass_id, []) if work.pass_id and each else of_any
        again = made[: bisect_left(made, work.mark.seq, key=_seq)][-1:]
        if any(not_after(case, last, act) == "yes" and not_after(case, act, work.mark) == "yes" for act in again):
            continue
        if work.told is not None:
            yield Detail(f"{work.name}: {subject}", *work.told)
            continue
        text = f"undone (entry {last.seq}), and no entry says that it was done again before {work.before}"
        yield Detail(f"{work.name}: {subject}", "no proof", text, (last.seq, *work.cites))


class _Work(NamedTuple):
    """What hands did at the vehicle, for which it has to be safe; `told` is what a person said of that afterwards."""

    mark: Mark
    pass_id: str
    name: str
    before: str
    cites: tuple[int, ...]
    told: tuple[Answer, str, tuple[int, ...]] | None = None


def _of_opening(case: Case, one: Opening) -> _Work:
    name = case.visit(one.pass_id, one.nipple)
    return _Work(opened(one), one.pass_id, name, "the nipple was opened", one.cites[:1])


def _of_mends(case: Case) -> Iterator[_Work]:
    """Tell of each mend that put a hand to a nipple or a joint, with what was said of it before the next one."""
    mends = [one for one in every_mend(case) if one.changes]
    said = [act for act in case.timeline.said(WAS_SAFE) if act.done]
    for one, after in zip_longest(mends, mends[1:]):
        until = after.act.seq if after is not None else 1 << 62
        words = [act for act in said if one.act.seq < act.seq < until]
        name = f"mended (entry {one.act.seq})"
        told = _told(one, words[-1]) if words else None
        yield _Work(Mark(one.act.at, one.act.seq), "", name, "it was mended", (one.act.seq,), told)


def _told(one: Mend, word: Act) -> tuple[Answer, str, tuple[int, ...]]:
    who, cites = word.done_by.partition(":")[2], (one.act.seq, word.seq)
    if word.answer == "yes":
        return "met", f"{TOLD}{who} says that it was made safe first", cites
    if word.answer == "no":
        return "not met", f"{who} says that it was not made safe first", cites
    return "no proof", f"{who} says that nobody knows whether it was made safe first", cites


def _is_done(act: Act) -> bool:
    return act.done


def _seq(act: Act) -> int:
    return act.seq

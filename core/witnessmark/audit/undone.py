"""What made it safe to open and was undone since: it is made safe once more before each opening that comes after.

A case flows in, a detail for each opening that lacks it flows out. Rules that hold here: a service mode is undone by
leaving it, supports by putting the wheels on or driving, a reading that shows that nothing presses by each of them;
what was said or read before that vouches for no opening after it; nothing is asked of a job in which nothing was
opened after it was undone.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence

from witnessmark.audit.asked import asked, done
from witnessmark.audit.case import Case
from witnessmark.audit.sequence import Placed, may_precede, not_after, opened
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail
from witnessmark.procedure.model import Step
from witnessmark.procedure.safe import safe_first
from witnessmark.procedure.words import UNDONE_BY

BY_ANY = tuple(word for words in UNDONE_BY.values() for word in words)
"""What undoes a reading: a unit that leaves its service mode, or works, builds up its pressure."""


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
    each = {one.id for one in case.plan} if step in case.procedure.steps_before_each_pass else {""}
    made_at = {at: sorted(filter(_is_done, done(case, step, word, pass_id=at)), key=_seq) for at in each}
    undone_at = [one.seq for one in undoing]
    for one in case.timeline.openings:
        mark = opened(one)
        place = bisect_left(undone_at, mark.seq)
        if not place or not may_precede(case, undoing[place - 1], mark):
            continue
        last, made = undoing[place - 1], made_at.get(one.pass_id if "" not in each else "", [])
        again = made[: bisect_left(made, mark.seq, key=_seq)][-1:]
        if any(not_after(case, last, act) == "yes" and not_after(case, act, mark) == "yes" for act in again):
            continue
        text = f"undone (entry {last.seq}), and no entry says that it was done again before the nipple was opened"
        yield Detail(f"{case.visit(one.pass_id, one.nipple)}: {subject}", "no proof", text, (last.seq, *one.cites[:1]))


def _is_done(act: Act) -> bool:
    return act.done


def _seq(act: Act) -> int:
    return act.seq

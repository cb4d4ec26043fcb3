"""A check that was answered no and later yes: what was done between, and whether that is in the record.

The acts of one check flow in, what became of its noes flows out in words. Rules that hold here: each no stays visible
with each mend that was said for it after it, whatever comes then; where none was said for it, what was said for another
check counts for it too, for one mend may put both right; a yes after it counts only where the record says what was done
between: what a person says was mended, or a nipple opened or closed, a run, a step or a torque done again that had been
done before; what only looks, and a step that was then done for the first time, mend nothing. Whether what was done was
the right mend is not judged here: it is named. But a circuit that was opened for it, or for a mend after an earlier no,
counts only where it was bled after that was said, and so do words that came with the yes: nobody asked then what was
opened.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.grounds.mends import Mend, bled, every_mend, judged
from witnessmark.audit.timeline import NOT_RIGHT, Act
from witnessmark.procedure.mending import BLED
from witnessmark.procedure.words import FINAL_CHECKS

LAST = 1 << 62
"""After every entry."""


@dataclass(frozen=True, slots=True)
class Look:
    """One answer of a check. `then` is in words what was mended before the next one, with its entries in `cites`.

    `mended` says whether the record bears that out.
    """

    act: Act
    then: str = ""
    mended: bool = True
    cites: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Overturned:
    """The noes that a later yes of the same check, the last of `looks`, stands against, with what was mended between.

    `mended` says whether the record bears out that all of it was.
    """

    text: str
    mended: bool
    cites: tuple[int, ...]
    looks: tuple[Look, ...]


def overturned(case: Case, acts: Sequence[Act]) -> Overturned | None:
    """Return what became of the noes among a check's `acts`; None where there is none, or the last word is a no."""
    seen = looks(case, acts)
    if not seen or not seen[-1].act.done:
        return None
    yes, last = seen[-1].act, next(one.act for one in reversed(seen) if one.act.looked)
    later = yes.at.minus(last.at)
    after = "" if say.is_vague(later) else f", {say.apart(later)}"
    text = f"{NOT_RIGHT}: {spell_looks(seen[:-1], entered)}; then yes ({entered(yes)}){after}"
    cites = (seq for one in seen for seq in (one.act.seq, *one.cites))
    return Overturned(text, all(one.mended for one in seen), tuple(dict.fromkeys(cites)), seen)


def looks(case: Case, acts: Sequence[Act]) -> tuple[Look, ...]:
    """Return each no among a check's `acts` with each mend said after it, and each yes from the first no on, in order.

    Of several yeses in a row the last stands.
    """
    said = [act for act in acts if act.looked or act.done]
    first = next((at for at, act in enumerate(said) if act.looked), len(said))
    pairs = zip_longest(said[first:], said[first + 1 :])
    seen = [act for act, then in pairs if act.looked or then is None or then.looked]
    yes = seen[-1] if seen and seen[-1].done else None
    return tuple(_look(case, acts, act, then, yes) for act, then in zip_longest(seen, seen[1:]))


def spell_looks(seen: Sequence[Look], when: Callable[[Act], str]) -> str:
    """Return in words, in order, what was seen and what was mended after it; `when` gives the time of an act."""
    return "; ".join(part for one in seen for part in (_said(one.act, when), one.then) if part)


def entered(act: Act) -> str:
    """Return when an act was, and its entry."""
    return f"{say.clock(act.at)}, entry {act.seq}"


def _said(act: Act, when: Callable[[Act], str]) -> str:
    return f"{(act.said or 'not right') if act.looked else 'right'} ({when(act)})"


def _look(case: Case, acts: Sequence[Act], act: Act, then: Act | None, yes: Act | None) -> Look:
    """Return an answer with what was mended before the next one; what was opened for it must be bled before `yes`."""
    if act is yes:
        return Look(act)
    if then is not None and then is yes:
        return Look(act, *_mended(case, acts, act, yes))
    until, end = then.seq if then is not None else LAST, yes.seq if yes is not None else LAST
    said = _told_for(case, acts, act.seq, until)
    found = [judged(case, one, end) if one.changes else (one.text, True, one.cites) for one in said]
    if act.done and act.mended:
        found.insert(0, (f"{act.done_by.partition(':')[2]} says what was mended: {act.mended}", True, ()))
    cites = tuple(seq for _, _, cited in found for seq in cited)
    return Look(act, "; ".join(text for text, _, _ in found), all(whole for _, whole, _ in found), cites)


def _mended(case: Case, acts: Sequence[Act], no: Act, yes: Act) -> tuple[str, bool, tuple[int, ...]]:
    """Return in words what was mended between a no and a yes, whether the record bears it out, and its entries."""
    told = next((act.mended for act in acts if act.done and act.seq > no.seq and act.mended), "")
    said = _told_for(case, acts, no.seq, yes.seq) or _said_between(case, no.seq, yes.seq)
    if told or any(one.what == BLED for one in said):
        who = f"{yes.done_by.partition(':')[2]} says what was mended: {told or BLED}"
        done = bled(case, no, yes.seq)
        text = f"bled after it: {spell(done)}" if done else "no entries show a circuit bled between"
        parts = [(f"{who}; {text}", bool(done), done)]
    else:
        parts = []
    parts += [judged(case, one, yes.seq) for one in said if one.changes]
    if parts:
        cites = tuple(dict.fromkeys(seq for _, _, cited in parts for seq in cited))
        return "; ".join(text for text, _, _ in parts), all(whole for _, whole, _ in parts), cites
    done = _between(case, no.seq, yes.seq)
    if done:
        return f"done between: {spell(done)}", True, done
    return said[-1].text if said else "no entry says what was mended between", False, ()


def _told_for(case: Case, acts: Sequence[Act], since: int, until: int) -> list[Mend]:
    """Return the mends between two entries that were told for a check of these acts, or for none that is known."""
    those = {"", *(act.step for act in acts)}
    return [one for one in _said_between(case, since, until) if one.check in those]


def _said_between(case: Case, since: int, until: int) -> list[Mend]:
    """Return the mends between two entries, for whatever check: one may put right what several checks saw."""
    return [one for one in every_mend(case) if since < one.act.seq < until]


def _between(case: Case, no: int, yes: int) -> tuple[int, ...]:
    """Return the entries between two that tell of work on the vehicle that may have mended something."""
    acts = [act for pass_id in ("", *case.passes) for act in case.acts_at(pass_id)]
    before = {(act.step, act.nipple) for act in acts if act.seq < no and act.done and mends(case, act)}
    between = [act for act in acts if no < act.seq < yes]
    found = {act.seq for act in between if act.act in ("opened", "closed")}
    found |= {act.seq for act in between if act.done and (act.step, act.nipple) in before and mends(case, act)}
    found |= {run.seq for run in case.timeline.actuations if no < run.seq < yes and run.began == "yes"}
    return tuple(sorted(found))


def mends(case: Case, act: Act) -> bool:
    """Say whether an act of the procedure's may have changed something on the vehicle: it does not only look."""
    step = case.step(act.step)
    if step is None or step.affects in FINAL_CHECKS:
        return False
    return step.act == "do" or bool(act.affects) or step.what in ("torque", "wheel-torque")

"""A check that was answered no and later yes: what was done between, and whether that is in the record.

The acts of one check flow in, what became of its no flows out in words. Rules that hold here: a no stays visible,
whatever comes after it; a yes after it counts only where the record says what was done between: what a person says was
mended, or a nipple opened or closed, a run, a step or a torque done again that had been done before; what only looks,
and a step that was then done for the first time, mend nothing. Whether what was done was the right mend is not judged
here: it is named. But a circuit that was opened for it, or for a mend after an earlier no, counts only where it was
bled after that was said, and so do words that came with the yes: nobody asked then what was opened.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from witnessmark.audit import say
from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.mends import bled, every_mend, judged
from witnessmark.audit.timeline import Act
from witnessmark.procedure.mending import BLED
from witnessmark.procedure.words import FINAL_CHECKS


@dataclass(frozen=True, slots=True)
class Overturned:
    """One no that a later yes of the same check stands against. `mended` says whether the record tells of a mend.

    `what` is in words what it tells of it.
    """

    text: str
    mended: bool
    cites: tuple[int, ...]
    what: str


def overturned(case: Case, acts: Sequence[Act]) -> Overturned | None:
    """Return what became of the noes among a check's `acts`; None where there is none, or the last word is a no."""
    noes = [act for act in acts if act.looked]
    yes = next((act for act in reversed(acts) if act.done), None)
    if not noes or yes is None or yes.seq < noes[-1].seq:
        return None
    last = noes[-1]
    what, mended, done = _mended(case, acts, last, yes)
    for text, cites in _not_bled(case, noes[0], last, yes):
        what, mended, done = f"{text}; {what}", False, (*cites, *done)
    said = say.listing(f"{one.why_not} ({say.clock(one.at)}, entry {one.seq})" for one in noes)
    after = say.apart(yes.at.minus(last.at))
    text = f"{said}; then yes ({say.clock(yes.at)}, entry {yes.seq}), {after}; {what}"
    return Overturned(text, mended, (*(one.seq for one in noes), *done, yes.seq), what)


def _mended(case: Case, acts: Sequence[Act], no: Act, yes: Act) -> tuple[str, bool, tuple[int, ...]]:
    """Return in words what was mended between a no and a yes, whether the record bears it out, and its entries."""
    told = next((act.mended for act in acts if act.done and act.seq > no.seq and act.mended), "")
    said = [one for one in every_mend(case) if no.seq < one.act.seq < yes.seq]
    if told or any(one.what == BLED for one in said):
        who = f"{yes.done_by.partition(':')[2]} says what was mended: {told or BLED}"
        done = bled(case, no.seq, yes.seq)
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


def _not_bled(case: Case, first: Act, last: Act, yes: Act) -> list[tuple[str, tuple[int, ...]]]:
    """Return in words each mend between two noes whose circuit was opened, and never bled before the yes."""
    earlier = [one for one in every_mend(case) if one.changes and first.seq < one.act.seq < last.seq]
    found = (judged(case, one, yes.seq) for one in earlier)
    return [(text, cites) for text, whole, cites in found if not whole]


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

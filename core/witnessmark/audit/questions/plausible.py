"""31: is it physically plausible? Nobody gets from one nipple to the next in less than the shop's least time.

And nobody is done with a step sooner than it takes at least, where the procedure says how long that is.

Only this job is looked at: whether the same person worked on another at the time, its record alone cannot show.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from witnessmark.audit import say
from witnessmark.audit.case import NS, Case
from witnessmark.audit.grounds.lasting import lasted
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Act, Gauge
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details, from_sure, no_proof
from witnessmark.procedure.steps import each_step


def answer(case: Case) -> Verdict:
    acts = [act for act in case.timeline.acts if act.nipple and act.act in ("opened", "closed")]
    moves, lasting = list(_moves(acts)), _lasting(case)
    alone = len({name for one in case.plan for name in one.nipples}) == 1
    if not moves and not lasting and alone:
        return does_not_apply("the plan of this job has one nipple only")
    still = "no one went from one nipple to another in this record"
    if not moves and not lasting:
        return no_proof(still, *(act.seq for act in acts))
    details = [_move(case, *pair) for pair in moves]
    if not moves and not alone:
        details = [Detail("nipples", "no proof", still)]
    parts = (
        [f"nobody was at two nipples within {case.policy.move_s} s (set by the shop, else our choice)"] if moves else []
    )
    parts += ["each step took as long as it takes at least"] if lasting else []
    verdict = from_details([*details, *lasting], "; ".join(parts))
    return replace(verdict, cites=tuple(act.seq for act in acts))


def _lasting(case: Case) -> list[Detail]:
    """Judge each step that takes some time at least, by each touch or reading that says it was done."""
    timed = {step.id for _, step in each_step(case.procedure) if step.takes_at_least}
    entries: tuple[Act | Gauge, ...] = (*case.timeline.acts, *case.timeline.gauges) if timed else ()
    found = {act.seq: one for act in entries if act.step in timed and (one := lasted(case, act)) is not None}
    return [Detail(one.subject, from_sure(one.sure), one.text, one.cites) for one in found.values()]


def _moves(acts: Sequence[Act]) -> Iterator[tuple[Act, Act]]:
    """Return each two acts of one person at two nipples with none in between, as far as the times tell."""
    ordered = sorted(acts, key=lambda act: (act.at.low, act.seq))
    for place, one in enumerate(ordered):
        until = None
        for other in ordered[place + 1 :]:
            if other.done_by != one.done_by:
                continue
            if until is not None and other.at.low > until:
                break
            if one.nipple != other.nipple and one.pass_id != other.pass_id:
                yield one, other
            if other.at.low > one.at.high:
                until = other.at.high if until is None else min(until, other.at.high)


def _move(case: Case, one: Act, other: Act) -> Detail:
    """Judge how far two acts lie apart, whichever was first."""
    apart = other.at.minus(one.at).size()
    subject = f"{case.nipple(one.nipple).name} to {case.nipple(other.nipple).name}"
    text = f"{say.length(apart)} by {other.done_by.partition(':')[2]}, at least {case.policy.move_s} s"
    sure = apart.at_least(case.policy.move_s * NS)
    return Detail(subject, from_sure(sure), text, tuple(sorted((one.seq, other.seq))))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(31, "plausible", "Is the record physically plausible?", answer)]

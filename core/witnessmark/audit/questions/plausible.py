"""31: is it physically plausible? Nobody gets from one nipple to the next in less than the shop's least time.

Only this job is looked at: whether the same person worked on another at the time, its record alone cannot show.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from witnessmark.audit import say
from witnessmark.audit.case import NS, Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.range import Range
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail, Verdict, from_details, no_proof


def answer(case: Case) -> Verdict:
    acts = [act for act in case.timeline.acts if act.nipple and act.act in ("opened", "closed")]
    people = dict.fromkeys(act.done_by for act in acts)
    pairs = [
        pair for person in people for pair in pairwise([act for act in acts if act.done_by == person]) if _moved(*pair)
    ]
    if not pairs:
        return no_proof("no one went from one nipple to another in this record", *(act.seq for act in acts))
    details = [_move(case, earlier, later) for earlier, later in pairs]
    verdict = from_details(
        details, f"nobody was at two nipples within {case.policy.move_s} s (set by the shop, else our choice)"
    )
    return replace(verdict, cites=tuple(act.seq for act in acts))


def _moved(earlier: Act, later: Act) -> bool:
    return earlier.nipple != later.nipple and earlier.pass_id != later.pass_id


def _move(case: Case, earlier: Act, later: Act) -> Detail:
    apart = later.at.minus(earlier.at)
    subject = f"{case.nipple(earlier.nipple).name} to {case.nipple(later.nipple).name}"
    shown = say.length(Range(max(0, apart.low), max(0, apart.high)))
    text = f"{shown} by {later.done_by.partition(':')[2]}, at least {case.policy.move_s} s"
    impossible = apart.high < case.policy.move_s * NS
    return Detail(subject, "not met" if impossible else "met", text, (earlier.seq, later.seq))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(31, "plausible", "Is the record physically plausible?", answer)]

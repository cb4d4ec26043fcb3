"""What was looked at, was not right, and was right when it was looked at again: a leak that was mended, say.

A case flows in, a line for each check flows out. Rules that hold here: each no stays on page one although it is right
now, with each mend that was said after it, in order; a check stands under what was put right only where the record
bears out all of that.
"""

from __future__ import annotations

from witnessmark.audit.case import Case
from witnessmark.audit.overturned import overturned, spell_looks
from witnessmark.audit.timeline import Act
from witnessmark.report.times import Times


def put_right(case: Case, times: Times, *, shown: bool) -> list[str]:
    """Return a line for each check outside the passes of which a no was followed by a yes, in order.

    `shown`: those of which the record bears out what was mended between, else the others.
    """
    acts: dict[str, list[Act]] = {}
    for act in case.timeline.acts:
        if not act.pass_id and case.step(act.step) is not None:
            acts.setdefault(act.step, []).append(act)
    return [line for step, of_it in acts.items() if (line := _line(case, times, step, of_it, shown))]


def _line(case: Case, times: Times, step: str, acts: list[Act], shown: bool) -> str:
    changed = overturned(case, acts)
    if changed is None or changed.mended != shown:
        return ""
    *seen, again = changed.looks
    looks = spell_looks(seen, lambda act: times.text(act.at))
    right = "looked at again and right" if shown else "then said to be right"
    return f"{case.step_text(step).rstrip('.?')}: {looks}; {right} ({times.text(again.act.at)})"

"""What was looked at, was not right, and was right when it was looked at again: a leak that was mended, say.

A case flows in, a line for each check flows out. Rule that holds here: what was seen stays on page one although it is
right now, with what the record says was mended between.
"""

from __future__ import annotations

from witnessmark.audit.case import Case
from witnessmark.audit.overturned import overturned
from witnessmark.audit.timeline import Act
from witnessmark.report.times import Times


def put_right(case: Case, times: Times) -> list[str]:
    """Return a line for each check outside the passes of which a no was followed by a yes, in order."""
    acts: dict[str, list[Act]] = {}
    for act in case.timeline.acts:
        if not act.pass_id and case.step(act.step) is not None:
            acts.setdefault(act.step, []).append(act)
    return [line for step, of_it in acts.items() if (line := _line(case, times, step, of_it))]


def _line(case: Case, times: Times, step: str, acts: list[Act]) -> str:
    changed = overturned(case, acts)
    if changed is None:
        return ""
    noes = [act for act in acts if act.looked]
    seen = ", ".join(f"{act.said or 'not right'} ({times.text(act.at)})" for act in noes)
    again = next(act for act in reversed(acts) if act.done)
    what = case.step_text(step).rstrip(".?")
    return f"{what}: {seen}; {changed.what}; looked at again and right ({times.text(again.at)})"

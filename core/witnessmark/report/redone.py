"""What was seen at a visit and what became of it: accepted by whom and why, or the visit done again for it.

A visit flows in, lines for page one flow out. Rules that hold here: what was accepted is no reason for doing it again,
and stays on page one also where nothing was done again; why it was done again is what was seen since, and what was said
then, else how the run before had ended; what was seen last and neither accepted nor done again is told as seen.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit import say
from witnessmark.audit.case import MISSED, Case
from witnessmark.audit.grounds.visits import REDONE, Visit
from witnessmark.audit.questions.ran_clear import GONE_ON
from witnessmark.audit.timeline import Act
from witnessmark.procedure import own
from witnessmark.report.attempts import attempt

SHUT = "nipple shut while it ran"


def again(case: Case, visit: Visit) -> list[str]:
    """Return a line for each acceptance, one for why the visit was done again, and one for what was seen last."""
    lines: list[str] = []
    why: dict[str, None] = {}
    seen: dict[str, Act] = {}
    redone: Act | None = None
    early: Act | None = None
    for act in _told(case, visit):
        if act is None:
            why |= dict.fromkeys(seen or ([_stop(visit, redone, early) or "no reason given"] if redone else []))
            seen, redone = {}, None
        elif act.step == GONE_ON:
            lines.append(_accepted(act, list(seen)))
            seen = {}
        elif act.step == REDONE:
            redone = act
            seen |= {act.said: act} if act.said else {}
        elif act.step == own.ENDED_EARLY:
            early = act
        elif act.looked or act.step == MISSED:
            seen[_seen(case, act)] = act
        elif act.done:
            mine = [words for words, one in seen.items() if (one.step, one.nipple) == (act.step, act.nipple)]
            lines += [f"{say.listing(mine)} seen, right when it was looked at again"] if mine else []
            seen = {words: one for words, one in seen.items() if words not in mine}
    left = [words for words, act in seen.items() if act.looked]
    lines += [f"done again for: {', '.join(why)}"] if why else []
    return lines + ([f"seen last: {', '.join(left)}"] if left else [])


def _stop(visit: Visit, redone: Act, early: Act | None) -> str:
    """Return in words how the run before a visit was to be done again ended, where it did not run its time, and why."""
    runs = [one for one in (*visit.others, *([visit.run] if visit.run else [])) if one.seq < redone.seq]
    last = max(runs, key=lambda one: one.seq, default=None)
    if last is None or (last.began == "yes" and last.outcome is not None and last.outcome.result == "completed"):
        return ""
    why = early.said if early is not None and last.seq < early.seq < redone.seq else ""
    return f"{attempt(last)}{f' ({why})' if why else ''}"


def _told(case: Case, visit: Visit) -> Iterator[Act | None]:
    """Go through what was said at a visit in order, with None where an attempt after the first begins."""
    line = case.timeline
    begun = {one.opened if one.opened is not None else one.closed for one in line.openings_at(visit.id)}
    begun |= {run.seq for run in line.actuations_of(visit.id)}
    acts = {act.seq: act for act in line.acts if act.pass_id == visit.id and act.seq not in begun}
    begins = sorted(seq for seq in begun if seq is not None)
    for seq in sorted({*acts, *begins[1:]}):
        if seq > (begins[0] if begins else 0):
            yield acts.get(seq)


def _seen(case: Case, act: Act) -> str:
    if act.step == MISSED:
        return SHUT if len(case.nipples_of(act.pass_id)) == 1 else f"{case.nipple(act.nipple).name} shut while it ran"
    return act.said or "not right"


def _accepted(act: Act, seen: list[str]) -> str:
    what = f"{say.listing(seen)} seen, accepted" if seen else "accepted as it was"
    return f"{what} by {act.done_by.partition(':')[2]}{f': {act.said}' if act.said else ''}"

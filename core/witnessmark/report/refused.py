"""What was asked for and not started, for the statement: also where it ran afterwards, which no open question tells.

A case flows in, a line for each pass flows out. Rule that holds here: of several refusals of a pass the last is told in
words, and each is named by its entry.
"""

from __future__ import annotations

from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.questions.refusals import refusals
from witnessmark.audit.timeline import by


def refused(case: Case) -> list[str]:
    """Return a line for each pass, or run of no pass, that was refused: by the control unit, or here before a send."""
    lines = []
    for pass_id, many in by(refusals(case), lambda one: one[1]).items():
        last, run = many[-1][2], many[-1][3]
        what = pass_id or (run.subject if run is not None else "first use")
        more = f", {len(many)} times, the last" if len(many) > 1 else ""
        later = any(one.began == "yes" and one.seq > many[-1][0] for one in case.timeline.actuations_of(pass_id))
        then = "; it ran afterwards" if pass_id and later else ""
        lines.append(f"{what}{more}: {last} ({spell(one[0] for one in many)}){then}")
    return lines

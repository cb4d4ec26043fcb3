"""What was not part of a job: outside its scope, planned and never reached, not asked, left out with a reason.

A case flows in, lines flow out. Rule that holds here: nothing counts as done because no entry says otherwise.
"""

from __future__ import annotations

from witnessmark.audit.case import Case
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import NOT_RIGHT, Act
from witnessmark.procedure.model import Pass


def not_part(case: Case) -> list[str]:
    """Return a line for each thing that a reader could take for done and that was not part of the job."""
    planned = {one.id for one in case.plan}
    left = [one for one in case.procedure.passes if one.id not in planned]
    said = [f"pass {one.id} ({_nipples(case, one)}): outside the scope of this job" for one in left]
    if case.untouched:
        asked = listing(f"{one.id} ({_nipples(case, one)})" for one in case.untouched)
        said.append(f"planned, and no entry says that it was done: {asked}")
    said += [f"question {one.question}: {one.why}" for one in case.procedure.leaves_out]
    said += [_left_out(case, act) for act in case.timeline.acts if act.act == "skipped" and _of_procedure(case, act)]
    return said


def _nipples(case: Case, one: Pass) -> str:
    return ", ".join(case.nipple(name).name for name in one.nipples)


def _of_procedure(case: Case, act: Act) -> bool:
    """Whether a thing left out is one that the procedure asks for, and not one that was done another way."""
    return act.step in case.step_ids or act.step in ("", "open", "close", "run")


def _left_out(case: Case, act: Act) -> str:
    where = [act.pass_id, case.nipple(act.nipple).name if act.nipple else ""]
    what = case.step_text(act.step) or {"run": "the run", "close": "closing"}.get(act.step, "opening")
    what_of = NOT_RIGHT if act.looked else "left out"
    stop = "" if what.endswith("?") else ":"
    return f"{', '.join([one for one in where if one] + [what])}{stop} {what_of}, {act.said or 'no reason given'}"

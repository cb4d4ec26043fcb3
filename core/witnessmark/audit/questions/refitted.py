"""34: put back together? Wheels torqued, parts back on, accessible what must be: after the last nipple was closed.

Where the vehicle was made safe once more after that, only what came after it counts.
"""

from __future__ import annotations

from collections.abc import Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.grounds.asked import after_all, asked, words_of
from witnessmark.audit.grounds.put_back import left_from
from witnessmark.audit.grounds.sequence import Mark, not_after
from witnessmark.audit.limits import inside, spell
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Gauge
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.model import Step
from witnessmark.procedure.own import PUT_RIGHT

MENDED = "says what was put right"
WORDS = ("wheels-torqued", "refitted", "access-clear")


def answer(case: Case) -> Verdict:
    wheels = [step for step in case.procedure.steps_after if step.what == "wheel-torque"]
    steps = asked(case, *WORDS)
    if not steps and not wheels:
        return does_not_apply("the procedure asks for nothing to be put back")
    since = left_from(case)
    said = [(step, word) for step in steps for word in words_of(step, *WORDS)]
    asked_by_hand = [(step, word) for step, word in said if step not in wheels or word != step.affects]
    details = [after_all(case, step, word, since) for step, word in asked_by_hand]
    details += [_wheel(case, step, after_all(case, step, "", since), since) for step in wheels]
    put_back = "" if isinstance(since, str) else f"everything the procedure names was put back after {since.name}"
    details = list(dict.fromkeys(details))
    again = "".join(f"; {one.subject}: {one.text}" for one in details if one.answer == "met" and MENDED in one.text)
    return from_details(details, f"{put_back}{again}")


def _wheel(case: Case, step: Step, done: Detail, since: Mark | str) -> Detail:
    """A wheel's torque is done, and what was read after that moment lies within the step's limit.

    One out of it counts no more where somebody said what was put right and it was then read within its limit. One that
    was only read again at once was a slip, or another wheel: nothing settles which.
    """
    limit = step.limit
    if limit is None or done.answer == "not met" or isinstance(since, str):
        return done
    unsure, told = [], []
    for one in _readings(case, step):
        sure = not_after(case, since, one)
        if sure == "no" or inside(one.amount, limit):
            continue
        text, again = f"{one.amount}, asked {spell(limit)}", case.read_again(one)
        if (mended := _mended(case, step, one)) is not None:
            told.append(Detail(done.subject, "met", f"{text}; {mended[0]}", (one.seq, *mended[1])))
        elif again is not None and inside(again.amount, limit):
            text += f"; at once read again as {again.amount}: a slip, or another wheel"
            unsure.append(Detail(done.subject, "no proof", text, (one.seq, again.seq)))
        elif sure == "maybe":
            text += f"; perhaps before {since.name}"
            unsure.append(Detail(done.subject, "no proof", text, (one.seq,)))
        else:
            return Detail(done.subject, "not met", text, (one.seq,))
    if done.answer != "met":
        return done
    return next(iter((*unsure, *told)), done)


def _readings(case: Case, step: Step) -> list[Gauge]:
    """Return the torques of wheels that tell of a step: all but those that were read at another step of wheels."""
    others = {one.id for one in case.procedure.steps_after if one.what == step.what and one.id != step.id}
    return [one for one in case.timeline.readings("wheel-torque") if one.step not in others]


def _mended(case: Case, step: Step, one: Gauge) -> tuple[str, tuple[int, ...]] | None:
    """Return in words, and by entries, what was put right after a reading, and what was read then; else None."""
    said = [act for act in case.timeline.said(PUT_RIGHT, one.pass_id) if act.answer == step.id and act.mended]
    mend = next((act for act in said if act.seq > one.seq), None)
    later = [other for other in _readings(case, step) if mend is not None and other.seq > mend.seq]
    if mend is None or step.limit is None or not later or not inside(later[-1].amount, step.limit):
        return None
    who = mend.done_by.partition(":")[2]
    text = f"then {who} {MENDED}: {mend.mended} (entry {mend.seq}); then read as {later[-1].amount}"
    return text, (mend.seq, later[-1].seq)


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(34, "refitted", "Was everything put back?", answer)]

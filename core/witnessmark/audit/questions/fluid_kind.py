"""2: the right fluid? What was read off the container against the procedure's grade and class: two things."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure.fluid import Fluid, fluid_class, grade, mixes

BOTH = ("fluid-grade", "fluid-class")
"""Steps whose words may name the other thing as well: "DOT 4, class 6" says both."""


def answer(case: Case) -> Verdict:
    one = case.procedure
    if not one.fluid and not one.fluid_class:
        return does_not_apply("the procedure names no fluid")
    details: list[Detail] = []
    if one.fluid:
        details += _judge(case, "grade", one.fluid, "fluid-grade", grade)
    if one.fluid_class:
        details += _judge(case, "class", one.fluid_class, "fluid-class", fluid_class)
    return from_details(details, f"the container says {one.fluid or one.fluid_class}, as the procedure asks")


def _judge(case: Case, what: str, asked: str, affects: str, read: Callable[[str], Fluid | None]) -> Iterator[Detail]:
    acts = [act for act in case.timeline.acts if act.affects == affects]
    acts += [act for act in case.timeline.acts_affecting(*BOTH) if act.affects != affects and read(act.answer)]
    if not acts:
        yield Detail(what, "no proof", f"no entry of what the container says, asked {asked}")
    for act in acts:
        yield _container(act, what, asked, read(asked), read(act.answer))


def _container(act: Act, what: str, asked: str, wanted: Fluid | None, found: Fluid | None) -> Detail:
    if not act.done:
        return Detail(what, "not met", f"left out: {act.said or 'no reason given'}", (act.seq,))
    if not act.answer:
        return Detail(what, "no proof", f"looked at, and nothing entered of what it says, asked {asked}", (act.seq,))
    text = f"the container says {act.answer}, asked {asked}"
    if wanted is None or found is None:
        same = act.answer.strip().lower() == asked.strip().lower()
        return Detail(what, "met" if same else "no proof", text if same else f"{text}: not understood", (act.seq,))
    if found == wanted:
        return Detail(what, "met", text, (act.seq,))
    if not mixes(found, wanted):
        return Detail(what, "not met", f"{text}: these never mix", (act.seq,))
    return Detail(what, "not met", f"{text}: they mix, and the blend ranks as the weaker", (act.seq,))


@hookimpl
def audit_questions() -> Sequence[Question]:
    return [Question(2, "fluid-kind", "The right fluid?", answer)]

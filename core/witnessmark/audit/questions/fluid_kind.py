"""2: the right fluid? What was read off the container against the procedure's grade and class: two things.

And what was in the vehicle against what went in: silicone and mineral fluid never mix with glycol ones. A label that
was read again before any was poured is not judged: it is named. Fluid from a container that nobody read has no proof.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from witnessmark.audit.case import SILENT, Case
from witnessmark.audit.fluid.containers import NOBODY, put_right, unknown
from witnessmark.audit.grounds.asked import asked
from witnessmark.audit.question import Question, hookimpl
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import Act
from witnessmark.audit.verdict import Detail, Verdict, does_not_apply, from_details
from witnessmark.procedure import own
from witnessmark.procedure.fluid import Fluid, fluid_class, grade, mixes, named, weaker

BOTH = ("fluid-grade", "fluid-class")
"""Steps whose words may name the other thing as well: "DOT 4, class 6" says both."""


IN_VEHICLE = "fluid-in-vehicle"
"""Steps whose words are what was in the vehicle: off its cap or label, or tested."""
ALLOWED = own.MIXING_ALLOWED
"""The step by which a lead goes on all the same."""
WITH_OLD = "with what was in the vehicle"


def answer(case: Case) -> Verdict:
    one = case.procedure
    if not one.fluid and not one.fluid_class and not _asked_for(case):
        return does_not_apply("the procedure names no fluid")
    details: list[Detail] = []
    if one.fluid:
        details += _judge(case, "grade", one.fluid, "fluid-grade", grade)
    if one.fluid_class:
        details += _judge(case, "class", one.fluid_class, "fluid-class", fluid_class)
    details += _in_vehicle(case)
    wanted = one.fluid or one.fluid_class
    fine = f"the container says {wanted}, as the procedure asks" if wanted else "what went in mixes with what was in it"
    verdict = from_details(details, fine)
    before = {act.seq: act for act in put_right(case, _labels(case))}
    if not before:
        return verdict
    said = listing(f"{act.answer or 'nothing'} (entry {seq})" for seq, act in before.items())
    text = f"{verdict.text}; {said} was read before and put right before any was poured"
    return replace(verdict, text=text, cites=(*verdict.cites, *before))


def _labels(case: Case) -> list[Act]:
    """Every look at a container's label, also one that could not be read."""
    return [act for act in case.timeline.acts if act.affects in BOTH]


def _in_vehicle(case: Case) -> Iterator[Detail]:
    """Judge what was in the vehicle against what went in, where the procedure asks for it or somebody said it."""
    steps = _asked_for(case)
    acts = [act for act in case.timeline.acts if act.affects == IN_VEHICLE or act.step in steps]
    if not acts:
        if steps:
            yield Detail(WITH_OLD, "no proof", "no entry of what was in the vehicle")
        return
    last = acts[-1]
    there = named(last.answer)
    if not last.done:
        yield Detail(WITH_OLD, "not met", last.why_not, (last.seq,))
        return
    if there is None:
        said = ", ".join(filter(None, (last.answer or "nothing entered", last.said)))
        yield Detail(WITH_OLD, "no proof", f"nobody knows what was in the vehicle: {said}", (last.seq,))
        return
    before = put_right(case, _labels(case))
    read = [act for act in case.timeline.acts_affecting(*BOTH) if act not in before]
    known = [(fluid, act) for act in read if (fluid := named(act.answer)) is not None]
    cites = (last.seq, *(act.seq for _, act in known))
    if not known:
        yield Detail(WITH_OLD, "no proof", f"{there.name} was in the vehicle; no entry of what went in", cites)
    elif never := [fluid for fluid, _ in known if not mixes(there, fluid)]:
        text = f"{there.name} was in it, {never[0].name} went in: these never mix"
        allowed = case.timeline.said(ALLOWED)
        for act in allowed[-1:]:
            text += f"; {act.done_by.partition(':')[2]} went on as lead: {act.said}"
        yield Detail(WITH_OLD, "not met", text, (*cites, *(act.seq for act in allowed)))
    elif nobody := unknown(case, [act.seq for act in _labels(case)], [s for one in BOTH for s in case.unread(one)]):
        yield Detail(WITH_OLD, "no proof", f"{there.name} was in the vehicle; {NOBODY}", (*cites, *nobody))
    else:
        each = dict.fromkeys(_blend(there, fluid) for fluid, act in known if act.affects == known[0][1].affects)
        yield Detail(WITH_OLD, "met", "; ".join(each), cites)


def _blend(there: Fluid, poured: Fluid) -> str:
    text = f"{there.name} was in it, {poured.name} went in"
    ranks = weaker(there, poured).name
    return text if there == poured else f"{text}: they mix, and where old fluid is left the blend ranks as {ranks}"


def _asked_for(case: Case) -> set[str]:
    return {step.id for step in asked(case, IN_VEHICLE)}


def _judge(case: Case, what: str, asked: str, affects: str, read: Callable[[str], Fluid | None]) -> Iterator[Detail]:
    acts = [act for act in case.timeline.acts if act.affects == affects]
    acts += [act for act in case.timeline.acts_affecting(*BOTH) if act.affects != affects and read(act.answer)]
    before = put_right(case, _labels(case))
    read_at, silent = [act.seq for act in acts], case.unread(affects)
    acts = [act for act in acts if act not in before]
    if not acts:
        said = f"what the container says is {SILENT}" if silent else "no entry of what the container says"
        yield Detail(what, "no proof", f"{said}, asked {asked}", silent)
    for act in acts:
        yield _container(act, what, asked, read(asked), read(act.answer))
    if acts and (nobody := unknown(case, read_at, silent)):
        yield Detail(what, "no proof", f"{NOBODY}, asked {asked}", tuple(nobody))


def _container(act: Act, what: str, asked: str, wanted: Fluid | None, found: Fluid | None) -> Detail:
    if not act.done:
        return Detail(what, "not met", act.why_not, (act.seq,))
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

"""Does the document hold together: what names something names what is there, and what depends on it is given.

A procedure whose shape fits flows in, every mistake flows out. Rule that holds here: what could never take effect is
a mistake, because whoever wrote it relies on it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from witnessmark.document.mistake import Mistake, Path
from witnessmark.procedure.figures import read
from witnessmark.procedure.fluid import CLASSES, GRADES, fluid_class, grade, mixes, named
from witnessmark.procedure.model import Precondition, Procedure
from witnessmark.procedure.steps import STEPS, each_step, words_of
from witnessmark.procedure.words import DIMENSIONS

FLUID_QUESTION = "2"
LAST_QUESTION, FROM_PLUGINS = 37, 1000
"""The last of the audit's own questions, and the first number that a plugin's may have."""
NOT_KNOWN = ("not known", "unknown", "other", "something else")
"""Choices that say that nobody knows, instead of a grade."""
CODE = re.compile(r"[PCBU][0-3][0-9A-F]{3}(-[0-9A-F]{2})?")
"""As SAE J2012 writes a trouble code, with or without its failure type."""


def whole(procedure: Procedure) -> Iterator[Mistake]:
    """Return everything in the document that names what is not there, or that could never take effect."""
    yield from _source(procedure)
    yield from _fluid(procedure)
    yield from _containers(procedure)
    yield from _names(procedure)
    yield from _visits(procedure)
    yield from _open_together(procedure)
    yield from _only_for_runs(procedure)
    yield from _preconditions(procedure)
    yield from _said_by(procedure)
    yield from _wake(procedure)
    yield from _codes(procedure)
    yield from _left_out(procedure)


def _source(procedure: Procedure) -> Iterator[Mistake]:
    if procedure.source.strip().lower().startswith("invented") and not procedure.invented:
        what = "the source says invented, and nothing else would warn of it"
        yield Mistake(("invented",), what, "write invented = true, or the maker's document as source")


def _fluid(procedure: Procedure) -> Iterator[Mistake]:
    asked, asked_class = grade(procedure.fluid), fluid_class(procedure.fluid_class)
    left = any(one.question == FLUID_QUESTION for one in procedure.leaves_out)
    if not procedure.fluid and not procedure.fluid_class and not left:
        hint = 'write the grade, like fluid = "DOT 4", or leave it out: [[leaves_out]] with question = "2" and why'
        yield Mistake(("fluid",), "no fluid is named", hint)
    if procedure.fluid and procedure.fluid not in GRADES:
        yield Mistake(("fluid",), f"{procedure.fluid!r} is no grade", f"use one of: {', '.join(GRADES)}")
    if procedure.fluid_class and procedure.fluid_class not in CLASSES:
        what = f"{procedure.fluid_class!r} is no class"
        yield Mistake(("fluid_class",), what, f"use one of: {', '.join(CLASSES)}")
    if asked is not None and asked_class is not None and not mixes(asked, asked_class):
        what = f"{asked.name} is no fluid of {asked_class.name}"
        yield Mistake(("fluid_class",), what, "correct one of the two: they never mix")


def _containers(procedure: Procedure) -> Iterator[Mistake]:
    """What is asked for is among what may be read off a container, and each choice names a fluid."""
    wanted = {"fluid-grade": (grade, procedure.fluid), "fluid-class": (fluid_class, procedure.fluid_class)}
    for path, step in each_step(procedure):
        if step.affects not in (*wanted, "fluid-in-vehicle") or not step.choices:
            continue
        at: Path = (*path, "choices")
        for index, choice in enumerate(step.choices):
            if choice.strip() and named(choice) is None and choice.strip().lower() not in NOT_KNOWN:
                hint = f"name one, like {', '.join(GRADES)}, or write not known"
                yield Mistake((*at, index), f"{choice!r} names no fluid", hint)
        if step.affects not in wanted:
            continue
        reading, asked = wanted[step.affects]
        fluid = reading(asked)
        fits = [choice for choice in step.choices if fluid is None or reading(choice) == fluid]
        if not fits:
            yield Mistake(at, f"{asked}, which the procedure asks for, is not among them", "add it, or correct fluid")
        kind = fluid_class(procedure.fluid_class)
        told = any(fluid_class(choice) for choice in step.choices)
        if fits and step.affects == "fluid-grade" and kind and told and kind not in map(fluid_class, fits):
            what = f"{asked} of {kind.name}, which the procedure asks for, is not among them"
            yield Mistake(at, what, "add it, or correct fluid_class")


def _names(procedure: Procedure) -> Iterator[Mistake]:
    """A name that is typed in a scope and joined with others is one word; what people call a nipple is one nipple."""
    for key in ("nipples", "passes", "questions", *STEPS):
        for index, one in enumerate(getattr(procedure, key)):
            if one.id.strip() and re.search(r"[\s,:/\\]", one.id):
                hint = "write it without spaces, commas, colons and slashes, like rear-left"
                yield Mistake((key, index, "id"), f"{one.id!r} is not one word", hint)
    if procedure.id.strip() and re.search(r"[\s/\\]", procedure.id):
        hint = "write it without spaces and slashes, like truck-7-bleed"
        yield Mistake(("id",), f"{procedure.id!r} is not one word", hint)
    seen: dict[str, str] = {}
    spelt: dict[str, str] = {}
    for index, one in enumerate(procedure.nipples):
        circuit = spelt.setdefault(" ".join(one.circuit.lower().split()), one.circuit)
        if circuit != one.circuit:
            what = f"circuit {one.circuit!r} is spelt {circuit!r} above"
            yield Mistake(("nipples", index, "circuit"), what, "spell one circuit in one way: it is bled as a whole")
        said = " ".join(one.name.lower().split())
        if not said:
            yield Mistake(("nipples", index, "name"), "this is empty", "say it as people do, like rear left")
        elif said in seen:
            what = f"nipple {seen[said]!r} is called {one.name!r} as well"
            yield Mistake(("nipples", index, "name"), what, "give each a name of its own: the screens show it")
        seen.setdefault(said, one.id)


def _visits(procedure: Procedure) -> Iterator[Mistake]:
    """Every nipple is visited, and seen to run clear on its last visit where a step looks for that."""
    looked = any("clear" in words_of(step) for step in procedure.steps_after_each_pass)
    last: dict[str, int] = {name: index for index, one in enumerate(procedure.passes) for name in one.nipples}
    strange = last.keys() - {nipple.id for nipple in procedure.nipples}
    for index, nipple in enumerate(procedure.nipples):
        if nipple.id not in last and nipple.id.strip() and procedure.passes and not strange:
            what = f"no pass visits nipple {nipple.id!r}"
            yield Mistake(("nipples", index), what, "give it a pass, or take it out")
    for index, one in enumerate(procedure.passes):
        ends = [name for name in one.nipples if last[name] == index]
        if looked and not one.clear and ends:
            what = f"it is the last visit of {', '.join(ends)}, and nobody is asked whether it ran clear"
            yield Mistake(("passes", index, "clear"), what, "leave clear = false out")


def _open_together(procedure: Procedure) -> Iterator[Mistake]:
    groups = procedure.nipples_may_be_open_together
    for index, group in enumerate(groups):
        at: Path = ("nipples_may_be_open_together", index)
        if len(set(group)) < 2:
            yield Mistake(at, "one nipple alone is not open together with another", "name two or more")
        elif len(set(group)) < len(group):
            yield Mistake(at, "a nipple is there twice", "name each once")
    for index, one in enumerate(procedure.passes):
        if one.wire_command and len(one.nipples) > 1 and not any(set(one.nipples) <= set(group) for group in groups):
            what = "its nipples are open at once in one run, and nothing allows that"
            yield Mistake(("passes", index, "nipples"), what, "name them in nipples_may_be_open_together")


RUNS_ONLY = {
    "armed_for": "is how long a run stays armed",
    "opened_at_arming": "is about opening before a run",
    "voltage": "is the band while a wire command runs",
    "preconditions": "must hold before a wire command",
    "questions": "are asked before arming",
}


def _only_for_runs(procedure: Procedure) -> Iterator[Mistake]:
    runs = [one for one in procedure.passes if one.wire_command]
    for key, what in RUNS_ONLY.items():
        if not runs and procedure.passes and getattr(procedure, key):
            yield Mistake((key,), f"{key} {what}, and no pass runs one", "leave it out, or name the wire commands")
    if runs and procedure.opened_at_arming and not any(one.order == "before" for one in runs):
        what = "no pass opens its nipple before its run"
        yield Mistake(("opened_at_arming",), what, "leave it out, or correct the order of the passes")
    if procedure.voltage_gap and procedure.voltage is None:
        what = "a gap between samples is given and no band"
        yield Mistake(("voltage_gap",), what, "give voltage as well, or leave it out")
    for index, one in enumerate(procedure.passes):
        if one.pressure_age and one.pressure is None:
            what = "no pressure is asked for"
            yield Mistake(("passes", index, "pressure_age"), what, "give pressure, or leave it out")


def _preconditions(procedure: Procedure) -> Iterator[Mistake]:
    asked = [one.id for one in procedure.questions]
    for index, one in enumerate(procedure.preconditions):
        path: Path = ("preconditions", index)
        if one.equals and one.limit is not None:
            yield Mistake((*path, "limit"), "it must equal something and lie in a band", "give one of the two")
        if not one.equals and one.limit is None:
            yield Mistake(path, "it says nothing that must hold", "give equals or limit")
        yield from _measured(one, (*path, "limit"))
        if one.name in asked:
            what = f"a question is called {one.name!r} as well"
            yield Mistake((*path, "name"), what, "give each a name of its own")


STANDING = "speed"
KINDS = {STANDING: ("km/h",), "voltage": DIMENSIONS["voltage"], "pressure": DIMENSIONS["pressure"]}
"""What a precondition of such a name, or of one that ends so, is measured in."""


def _measured(one: Precondition, path: Path) -> Iterator[Mistake]:
    units = next((units for name, units in KINDS.items() if one.name == name or one.name.endswith(f"-{name}")), ())
    low = read(one.limit.low) if one.limit is not None else None
    if one.name == STANDING and low is not None and low.number > 0:
        yield Mistake((*path, "low"), "it must stand still, and is never sent while it moves", "write high alone")
    for key in ("low", "high"):
        value = read(getattr(one.limit, key, ""))
        if units and value is not None and value.unit not in units:
            yield Mistake((*path, key), f"{value.unit} is no unit of {one.name}", f"use one of: {', '.join(units)}")


def _said_by(procedure: Procedure) -> Iterator[Mistake]:
    """A step that says a question's yes is always done."""
    steps = {step.id: step for step in procedure.steps_before}
    for index, one in enumerate(procedure.questions):
        step = steps.get(one.said_by)
        if step is not None and step.may_skip:
            what = f"step {step.id!r} may be left out, and then nobody says it"
            yield Mistake(("questions", index, "said_by"), what, "name a step that is always done")


def _wake(procedure: Procedure) -> Iterator[Mistake]:
    wake = procedure.wake
    needs = {
        "how": "how the vehicle is woken, so that nobody improvises",
        "energises": "what that energises, so that hands are clear of it",
        "source": "where that is published, or invented",
    }
    if wake is not None:
        for key, hint in needs.items():
            if not getattr(wake, key):
                yield Mistake(("wake", key), "the vehicle is woken and this is not given", f"say {hint}")
        return
    for path, step in each_step(procedure):
        if "wake" in words_of(step):
            at: Path = (*path, "affects") if step.affects == "wake" else (*path, "also", step.also.index("wake"))
            yield Mistake(at, "the vehicle is woken and nothing says how", "give [wake] with how, energises and source")


def _codes(procedure: Procedure) -> Iterator[Mistake]:
    codes = procedure.codes_set_by_work
    for index, code in enumerate(codes):
        at: Path = ("codes_set_by_work", index)
        if not CODE.fullmatch(code):
            yield Mistake(at, f"{code!r} is no trouble code", "write it like C1B41-54 or C1B41")
        elif code in codes[:index]:
            yield Mistake(at, f"{code} is there twice", "name each once")
    if codes and not any(step.act == "scan" for step in procedure.steps_after):
        what = "no step after the passes reads the codes"
        yield Mistake(("codes_set_by_work",), what, 'give one with act = "scan", or leave them out')


def _left_out(procedure: Procedure) -> Iterator[Mistake]:
    seen: set[str] = set()
    for index, one in enumerate(procedure.leaves_out):
        at: Path = ("leaves_out", index, "question")
        if one.question in seen:
            yield Mistake(at, f"question {one.question} is left out twice", "give each one reason")
        elif one.question.isdecimal() and not _is_question(one.question):
            hint = f"write its number, 1 to {LAST_QUESTION}, or a plugin's from {FROM_PLUGINS} on"
            yield Mistake(at, f"there is no question {one.question}", hint)
        seen.add(one.question)


def _is_question(number: str) -> bool:
    return not number.startswith("0") and (int(number) <= LAST_QUESTION or int(number) >= FROM_PLUGINS)

"""What a container of fluid says, held against what the procedure asks, before anything is filled.

Words off the container flow in; whether they name another grade or class flows out. Rules that hold here: words that do
not name what is asked are not what is asked; another fluid that a person goes on with is named to the end of the job.
"""

from __future__ import annotations

import re
from dataclasses import replace

from witnessmark.job.fluid.tank import FILLED
from witnessmark.job.walk.state import JobState
from witnessmark.journal.entry import Entry
from witnessmark.procedure.fluid import mixes, named
from witnessmark.procedure.model import Procedure, Step
from witnessmark.procedure.steps import each_step

FLUID = ("fluid-grade", "fluid-class")
"""What a step affects whose words are those on a container, and not a person's own."""
IN_VEHICLE = "fluid-in-vehicle"
"""What a step affects whose words are those on the vehicle's own cap or label, or what a test says, or `not known`."""
READ_OFF = (*FLUID, IN_VEHICLE)
UNKNOWN = "not known"
"""What is answered of the fluid in the vehicle where a person says why it cannot be read: the walk goes on."""
FILLS = {"refill", "level-set", "pressurise"}
"""What a step affects by which what the container holds goes into the vehicle."""
DO_NOT_FILL = "DO NOT FILL: another fluid can ruin the seals and the brake."


def asked(procedure: Procedure, step: Step) -> str:
    """Return what a step asks the container to say, empty for any other step or where the procedure asks nothing."""
    if step.affects not in FLUID:
        return ""
    if step.affects == "fluid-class":
        return procedure.fluid_class
    together = (procedure.fluid, procedure.fluid_class) if _says_class(step) else (procedure.fluid,)
    return ", ".join(one for one in together if one)


def unread(step: Step) -> str:
    """Return what the key says by which a label cannot be read, empty for a step that reads none of a list."""
    if step.affects == IN_VEHICLE:
        return f"{UNKNOWN}, and why"
    return "it cannot be read, and why" if step.choices else ""


def is_other(procedure: Procedure, step: Step, said: str) -> bool:
    """Whether what was read off the container is not what the procedure asks."""
    wanted = [one for one in asked(procedure, step).split(", ") if one]
    return any(not _names(said, one) for one in wanted)


def gone_on_with(state: JobState) -> str:
    """Name another fluid than is asked for that a person goes on with, or that went in; empty where there is none."""
    said = state.other_fluid or _other_fluid(state)
    return f"WRONG FLUID, gone on with all the same: {said}." if said else ""


def filled(state: JobState, entry: Entry) -> JobState:
    """Take note of another fluid that went in: a container that is read right later takes nothing out again."""
    body, words = entry.body, {entry.body.get("affects", ""), *entry.body.get("also", ())}
    goes_in = body.get("act") != "skipped" and (body.get("what") == FILLED or not words.isdisjoint(FILLS))
    return replace(state, other_fluid=_other_fluid(state)) if goes_in and _other_fluid(state) else state


def _other_fluid(state: JobState) -> str:
    """Return what the container was read to say last where that is not what is asked, and it is not asked for again."""
    read = dict(state.fluids)
    for _, step in each_step(state.procedure) if not state.wrong_fluid else ():
        said = read.get(step.affects, "") if step.affects in FLUID else ""
        if said and is_other(state.procedure, step, said):
            return f"the container says {said}, and {asked(state.procedure, step)} is asked for"
    return ""


def never_mix(state: JobState) -> str:
    """Return in words that what is in the vehicle never mixes with what goes in; empty where that is not known.

    What goes in is what the container says, before it was read what the procedure asks for.
    """
    read = dict(state.fluids)
    there = named(read.get(IN_VEHICLE, ""))
    asked_for = (state.procedure.fluid, state.procedure.fluid_class)
    goes_in = [named(read[affects]) for affects in FLUID if affects in read] or [named(one) for one in asked_for]
    for one in goes_in:
        if there is not None and one is not None and not mixes(there, one):
            return f"The vehicle holds {there.name}, and {one.name} is to go in: these never mix."
    return ""


def _says_class(step: Step) -> bool:
    """Whether the choices of a step name grade and class together."""
    return any("class" in choice.lower() for choice in step.choices)


def _names(said: str, wanted: str) -> bool:
    name = r"\s*".join(re.escape(one) for one in wanted.lower().split())
    return re.search(rf"(?<![a-z0-9]){name}(?![.-]?\d)", said.lower()) is not None

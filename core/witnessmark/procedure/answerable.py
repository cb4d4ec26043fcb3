"""Which of the audit's questions a procedure asks, which of those its steps can answer, and which it may leave out.

A procedure whose shape fits flows in, every mistake flows out. Rules that hold here: a question that is asked and that
no step can ever answer would hold every release, so its step is given, or it is left out with the reason, which is
printed; one that the steps do answer is never left out, nor one about the record itself: what was seen is judged.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from witnessmark.document.mistake import Mistake, Path, spell
from witnessmark.procedure.fluid import fluid_class
from witnessmark.procedure.model import Procedure, Step
from witnessmark.procedure.steps import STEPS, each_step, words_of
from witnessmark.procedure.words import AFFECTS, DIMENSIONS, FINAL_CHECKS, READINGS

BEFORE, _, EACH_AFTER, AFTER = STEPS
OF_THE_RECORD = (28, 29, 30, 31, 32, 37)
"""Of how the record was made, and of the release: whatever a procedure says, there is one."""
OF_VISITS = (4, 9, 10)
OF_RUNS = (6, 7, 8, 16, 17, 18, 19, 20, 22)
OF_WORDS = {
    "fluid-in-vehicle": 2, "capped": 23, "feed-on": 24, "pressurise": 24, "clear": 33, "wheels-torqued": 34,
    "refitted": 34, "access-clear": 34, "made-safe": 36,
}  # fmt: skip
OF_READINGS = {"torque": 23, "wheel-torque": 34}
OF_KEYS = {
    "fluid": (2,), "fluid_class": (2,), "container_age": (3,), "pressure_limit": (11, 24), "pressure_fall": (12,),
    "balance_tolerance": (14,), "reservoir": (15,), "voltage": (21,), "control_unit": (27,),
}  # fmt: skip
OF_PASSES = {"pressure": (11, 24, 35), "volume": (14,), "wire_command": OF_RUNS}
"""What of a procedure asks which questions; the others are asked by nothing of their own."""
LABELS = ("fluid-grade", "fluid-class")
FEED, NO_BALANCE = "feed-pressure", "take balance_tolerance out"


class Lack(NamedTuple):
    """A question, the key that asks it, what is not there to answer it, and what to give.

    `instead` is what may be done besides: None, to leave the question out.
    """

    number: int
    path: Path
    what: str
    hint: str
    instead: str | None = None


def answerable(procedure: Procedure) -> Iterator[Mistake]:
    """Return each question that can never be answered and is not left out, and each that is left out all the same."""
    asks, lacks = asked(procedure), tuple(lacking(procedure))
    left = {one.question: ("leaves_out", index, "question") for index, one in enumerate(procedure.leaves_out)}
    for one in () if _misspelt(procedure) else lacks:
        out = f'leave it out: [[leaves_out]] with question = "{one.number}" and why'
        other = out if one.instead is None else one.instead
        if other != out or str(one.number) not in left:
            hint = f"{one.hint}, or {other}" if other else one.hint
            yield Mistake(one.path, f"{one.what}: question {one.number} could never be answered", hint)
    without = {one.number for one in lacks if one.instead is None}
    for number in (*OF_THE_RECORD, *asks):
        if str(number) in left and number not in without:
            why = f"{spell(asks[number])} asks it" if number in asks else "it is asked of every record"
            yield Mistake(left[str(number)], f"question {number} is never left out here: {why}", "take it out")


def asked(procedure: Procedure) -> dict[int, Path]:
    """Return each question that something in the procedure asks, with that."""
    found: dict[int, Path] = dict.fromkeys(OF_VISITS, ("passes",))
    for key, numbers in OF_KEYS.items():
        if getattr(procedure, key):
            found |= {number: (key,) for number in numbers if number not in found}
    if procedure.pressure_limit is not None and procedure.pressure_limit.high:
        found[13] = ("pressure_limit", "high")
    for index, one in enumerate(procedure.passes):
        for key, numbers in OF_PASSES.items():
            if getattr(one, key):
                found |= {number: ("passes", index, key) for number in numbers if number not in found}
    for index, nipple in enumerate(procedure.nipples):
        if nipple.torque is not None:
            found.setdefault(23, ("nipples", index, "torque"))
    for path, step in each_step(procedure):
        for number in _of_step(path, step):
            found.setdefault(number, path)
    if set(FINAL_CHECKS) <= {word for step in procedure.steps_after for word in words_of(step)}:
        found[26] = (AFTER,)
    if not _unnumbered(procedure):
        found.setdefault(1, ("passes",))
    return found


def _of_step(path: Path, step: Step) -> Iterator[int]:
    yield from (OF_WORDS[word] for word in words_of(step) if word in OF_WORDS)
    if step.what in OF_READINGS:
        yield OF_READINGS[step.what]
    if step.what == "level" and path[0] == AFTER:
        yield 25
    if step.act in ("identify", "scan"):
        yield 1 if step.act == "identify" else 27


def lacking(procedure: Procedure) -> Iterator[Lack]:
    """Return each question that is asked and that nothing in the procedure can answer.

    What is missing for 26 and 36 is told where the order of the steps is looked at.
    """
    asks = asked(procedure)
    steps = [step for _, step in each_step(procedure)]
    reads = {step.what for step in steps}
    said = {word for step in steps for word in words_of(step)}
    if _unnumbered(procedure):
        yield Lack(1, (BEFORE,), "nothing reads the vehicle's number", 'give a step with act = "identify"')
    if 2 in asks and said.isdisjoint(LABELS):
        hint = 'give a step with affects = "fluid-grade" before the passes'
        yield Lack(2, asks[2], "no step reads off what the container holds", hint)
    elif 2 in asks and fluid_class(procedure.fluid_class) and not _tells_class(steps):
        hint = 'let choices name it, like "DOT 4, class 4", or give a step with affects = "fluid-class"'
        yield Lack(2, ("fluid_class",), "no step reads off the container's class", hint, "take fluid_class out")
    if 3 in asks and "container-age" not in reads:
        yield Lack(3, asks[3], "no step reads it", 'give a step with what = "container-age"')
    if 12 in asks and not any(step.what == FEED and step.instrument for step in steps):
        hint = f'give a step with what = "{FEED}" and its instrument'
        yield Lack(12, asks[12], "the feed is never read with an instrument that is named", hint)
    for number in (11, 13):
        if number in asks and FEED not in reads and not any(one.pressure for one in procedure.passes):
            yield Lack(number, asks[number], "no step reads the feed's pressure", f'give a step with what = "{FEED}"')
    if 24 in asks and "feed-off" not in said and "feed-on" not in said:
        yield Lack(24, asks[24], "no step takes the feed off", 'give a step with affects = "feed-off" after the passes')
    yield from _volumes(procedure, asks, reads)
    if 21 in asks and 6 in asks and not procedure.voltage_gap:
        yield Lack(21, asks[21], "nothing says how far apart two samples may be", "give voltage_gap", "")
    if 23 in asks and "torque" not in reads and any(one.torque for one in procedure.nipples):
        yield Lack(23, asks[23], "no step reads the torque", f'give a step with what = "torque" under {EACH_AFTER}')
    levels = [(index, step) for index, step in enumerate(procedure.steps_after) if step.what == "level"]
    if levels and levels[-1][1].limit is None:
        at: Path = (AFTER, levels[-1][0], "limit")
        balances = procedure.balance_tolerance and levels[-1][1].unit in DIMENSIONS["volume"]
        yield Lack(25, at, "nothing says how the level is to be", "give its limit", None if balances else "")
    if 27 in asks and not any(step.act == "scan" for step in procedure.steps_after):
        yield Lack(27, asks[27], "no step after the passes reads the codes", 'give one with act = "scan"')


def _volumes(procedure: Procedure, asks: dict[int, Path], reads: set[str]) -> Iterator[Lack]:
    """What the questions of volumes rest on: what went in, what came out, and the level before and after."""
    bottle = "volume" in reads
    hint = f'give a step with act = "volume" and what = "volume" under {EACH_AFTER}'
    volumes = DIMENSIONS["volume"]
    levels = [{step.unit for step in getattr(procedure, name) if step.what == "level"} for name in (BEFORE, AFTER)]
    if 14 in asks and not bottle:
        yield Lack(14, asks[14], "no step reads how much ran out", hint)
    elif procedure.balance_tolerance and "volume-in" not in reads:
        filled = 'give a step with act = "volume" and what = "volume-in"'
        yield Lack(14, ("balance_tolerance",), "no step reads how much was filled in", filled, NO_BALANCE)
    elif procedure.balance_tolerance and any(units.isdisjoint(volumes) for units in levels):
        twice = 'give a step with what = "level" and unit = "mL" before the passes, and one after them'
        yield Lack(14, ("balance_tolerance",), "the level is not read as a volume before and after", twice, NO_BALANCE)
    first = [step for step in procedure.steps_before if step.what == "volume-in" or "refill" in words_of(step)]
    if 15 in asks and not first:
        filled = 'give a step with affects = "refill" before the passes'
        yield Lack(15, asks[15], "no step before the passes fills the reservoir", filled)
    elif 15 in asks and not bottle:
        yield Lack(15, asks[15], "no step reads how much ran out", hint)


def _unnumbered(procedure: Procedure) -> bool:
    """Whether nothing ever reads the vehicle's number: no step does, and there is no run before which it is read."""
    reads = any(step.act == "identify" for _, step in each_step(procedure))
    return not reads and not any(one.wire_command for one in procedure.passes)


def _tells_class(steps: list[Step]) -> bool:
    """Whether what is read off a container may name a class: in words of one's own, or by a choice."""
    labels = [step for step in steps if not set(LABELS).isdisjoint(words_of(step))]
    return any(not step.choices or any(map(fluid_class, step.choices)) for step in labels)


def _misspelt(procedure: Procedure) -> bool:
    """Whether a word is not known: that is another's mistake, and what it was meant for is not missing."""
    words = {word for _, step in each_step(procedure) for word in words_of(step)} - AFFECTS.keys()
    whats = {step.what for _, step in each_step(procedure) if step.what} - READINGS.keys()
    return any(not word.startswith("x-") for word in words | whats)

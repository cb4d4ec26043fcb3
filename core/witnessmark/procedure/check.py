"""What a procedure must satisfy beyond its shape.

A procedure whose shape fits flows in, every mistake flows out: those with which it cannot be read or judged at all.
Rules that hold here: what the audit needs to judge a pass must be given by the author, for there is no default of ours;
a blank that stands for a missing key is not reported again (the loader drops it). What a written one must make sense of
besides is in `figures`, `handwork`, `thousands` and `whole`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from witnessmark import quantity
from witnessmark.document.mistake import Mistake, Path
from witnessmark.document.shape import nearest
from witnessmark.errors import InputError
from witnessmark.procedure.model import MACHINE_ACTS, Limit, Nipple, Pass, Procedure, Step
from witnessmark.procedure.repeated import KEYS, repeated
from witnessmark.procedure.steps import STEPS
from witnessmark.procedure.words import AFFECTS, DIMENSIONS, LATER_WORDS, READINGS

ARMED_FOR_S = (30, 90)
"""How long an actuation may stay armed: a choice of this project, no source."""

EXAMPLES = {"pressure": "2.0 bar", "time": "20 s", "torque": "9 N.m", "volume": "150 mL", "voltage": "12.0 V"}


def check(procedure: Procedure, *, written: bool) -> list[Mistake]:
    """Return every mistake in the document, in no particular order; empty when it may be used."""
    found = [*_whole(procedure), *_unique(procedure)]
    for index, nipple in enumerate(procedure.nipples):
        found += _nipple(nipple, ("nipples", index))
    for name in STEPS:
        for index, step in enumerate(getattr(procedure, name)):
            found += _step(step, (name, index), written=written)
            if step.act in MACHINE_ACTS and "each" in name:
                at: Path = (name, index, "act")
                found.append(Mistake(at, f"{step.act} is no step of a pass", "put it before or after the passes"))
            if step.may_repeat and "closed" in step.also:
                at = (name, index, "may_repeat")
                found.append(Mistake(at, "a touch that closes a nipple belongs to its pass", "leave it out"))
            if "closed" in step.also and name != "steps_after_each_pass":
                at = (name, index, "also")
                found.append(Mistake(at, "no nipple is closed here", "say it at a step after each pass"))
    for index, one in enumerate(procedure.passes):
        found += _pass(one, procedure, ("passes", index))
    return found


def _whole(procedure: Procedure) -> Iterator[Mistake]:
    for key in ("id", "title", "source", "vehicle"):
        if not getattr(procedure, key).strip():
            yield Mistake((key,), "this is empty", "say it in words; for practice data write invented")
    for key in ("nipples", "passes"):
        if not getattr(procedure, key):
            yield Mistake((key,), "there is none", f"give at least one [[{key}]]")
    for key in ("manual_uncertainty", "container_age", "voltage_gap"):
        yield from _quantity(getattr(procedure, key), "time", (key,))
    for key in ("reservoir", "balance_tolerance"):
        yield from _quantity(getattr(procedure, key), "volume", (key,))
    yield from _quantity(procedure.pressure_fall, "pressure", ("pressure_fall",))
    yield from _limit(procedure.pressure_limit, "pressure", ("pressure_limit",))
    yield from _limit(procedure.voltage, "voltage", ("voltage",))
    for index, precondition in enumerate(procedure.preconditions):
        yield from _limit(precondition.limit, "", ("preconditions", index, "limit"))
    if procedure.pump:
        for key in ("longest_run", "rest", "on_time", "window"):
            yield from _quantity(getattr(procedure.pump, key), "time", ("pump", key))
        if bool(procedure.pump.on_time) != bool(procedure.pump.window):
            at: Path = ("pump", "window" if procedure.pump.on_time else "on_time")
            yield Mistake(at, "on_time and window belong together", "give both or neither")
    yield from _actuated(procedure)
    yield from _together(procedure)
    yield from _questions(procedure)
    yield from _bottles(procedure)
    yield from _repeated(procedure)
    for index, left in enumerate(procedure.leaves_out):
        if not (left.question.isdecimal() and left.why.strip()):
            at = ("leaves_out", index)
            yield Mistake(at, "a question is left out without its number or a reason", 'write question = "12" and why')


MOST_CHOICES = 9
"""One key each, 1 to 9."""


def _actuated(procedure: Procedure) -> Iterator[Mistake]:
    """What a procedure with a wire command must say as a whole."""
    if not any(one.wire_command for one in procedure.passes):
        return
    if not procedure.physical_fallback.strip():
        why = "say how the work is made safe by hand when a stop is not confirmed"
        yield Mistake(("physical_fallback",), "a wire command runs and no physical fallback is given", why)
    low, high = ARMED_FOR_S
    mistakes = list(_quantity(procedure.armed_for, "time", ("armed_for",)))
    yield from mistakes
    if mistakes:
        return
    seconds = _seconds(procedure.armed_for)
    if seconds is None or not low <= seconds <= high:
        said = f"{procedure.armed_for} is outside" if procedure.armed_for else "it is not given; it must be within"
        yield Mistake(("armed_for",), f"{said} {low} to {high} s", f'write a time like "{low + 30} s"')


def _repeated(procedure: Procedure) -> Iterator[Mistake]:
    """Each step that may be done again needs a key."""
    for step in repeated(procedure)[len(KEYS) :]:
        for name in STEPS:
            if step in getattr(procedure, name):
                at: Path = (name, getattr(procedure, name).index(step), "may_repeat")
                yield Mistake(at, "too many steps may be done again", f"at most {len(KEYS)}: one key each")


def _questions(procedure: Procedure) -> Iterator[Mistake]:
    """What is asked before arming and holds for a time."""
    steps = [step.id for step in procedure.steps_before]
    for index, one in enumerate(procedure.questions):
        path: Path = ("questions", index)
        yield from _quantity(one.holds, "time", (*path, "holds"))
        if one.said_by and not one.holds:
            yield Mistake((*path, "holds"), "a step says it and it is not given how long", 'write a time like "2 h"')
        if one.said_by and one.said_by not in steps:
            what = f"{one.said_by!r} is no step before the passes"
            yield Mistake((*path, "said_by"), what, nearest(one.said_by, steps))


def _bottles(procedure: Procedure) -> Iterator[Mistake]:
    """What ran out at one pass is read with a later one, of the same hydraulic circuit, with nothing between."""
    circuits = {one.id: one.circuit for one in procedure.nipples}
    for index, one in enumerate(procedure.passes):
        if not one.bottle_with:
            continue
        at: Path = ("passes", index, "bottle_with")
        after = procedure.passes[index + 1 : index + 2]
        if not after or after[0].id != one.bottle_with:
            yield Mistake(at, f"{one.bottle_with!r} is not the next pass", "name the next one, or leave it out")
        elif {circuits.get(name) for name in one.nipples} != {circuits.get(name) for name in after[0].nipples}:
            yield Mistake(at, "the next pass is at another hydraulic circuit", "read the bottle before it")
        if one.volume is not None:
            yield Mistake(at, "the pass asks for a volume of its own", "leave one of the two out")


def _together(procedure: Procedure) -> Iterator[Mistake]:
    known = [nipple.id for nipple in procedure.nipples]
    for index, group in enumerate(procedure.nipples_may_be_open_together):
        for place, name in enumerate(group):
            if name not in known:
                at = ("nipples_may_be_open_together", index, place)
                yield Mistake(at, f"nipple {name!r} is not known", nearest(name, known))


def _unique(procedure: Procedure) -> Iterator[Mistake]:
    steps = [((name, i, "id"), step.id) for name in STEPS for i, step in enumerate(getattr(procedure, name))]
    groups: tuple[tuple[str, Iterable[tuple[Path, str]]], ...] = (
        ("nipple", [(("nipples", i, "id"), one.id) for i, one in enumerate(procedure.nipples)]),
        ("pass", [(("passes", i, "id"), one.id) for i, one in enumerate(procedure.passes)]),
        ("step", steps),
        ("precondition", [(("preconditions", i, "name"), one.name) for i, one in enumerate(procedure.preconditions)]),
        ("question", [(("questions", i, "id"), one.id) for i, one in enumerate(procedure.questions)]),
    )
    for noun, ids in groups:
        seen: set[str] = set()
        for path, name in ids:
            if not name.strip():
                yield Mistake(path, f"the {noun} has an empty name", "give it a short name of its own")
            elif name in seen:
                yield Mistake(path, f"{noun} {name!r} is there twice", "give each a name of its own")
            seen.add(name)


def _nipple(nipple: Nipple, path: Path) -> Iterator[Mistake]:
    yield from _limit(nipple.torque, "torque", (*path, "torque"))
    yield from _quantity(nipple.bore, "length", (*path, "bore"))
    yield from _quantity(nipple.length, "length", (*path, "length"))
    for key in ("line_volume", "caliper_volume"):
        yield from _quantity(getattr(nipple, key), "volume", (*path, key))
    if bool(nipple.bore) != bool(nipple.length):
        at = (*path, "length" if nipple.bore else "bore")
        yield Mistake(at, "bore and length belong together", "give both, or the line_volume, or neither")
    if not nipple.circuit.strip():
        yield Mistake((*path, "circuit"), "this is empty", "name the hydraulic circuit the nipple belongs to")


def _step(step: Step, path: Path, *, written: bool) -> Iterator[Mistake]:
    reads = step.act in ("read", "volume")
    dimension = READINGS.get(step.what, "") if written or step.what not in LATER_WORDS else ""
    if reads and not step.what:
        yield Mistake((*path, "what"), "a reading has no name", f"say what is read, like {', '.join(READINGS)}")
    if reads and not step.unit:
        yield Mistake((*path, "unit"), "a reading has no unit", "give the unit meant when none is entered")
    if step.unit and step.unit not in quantity.UNITS:
        hint = quantity.meant(step.unit).removesuffix(" Else ") or nearest(step.unit, list(quantity.UNITS))
        yield Mistake((*path, "unit"), f"unit {step.unit!r} is not known", hint)
    elif step.unit and dimension and step.unit not in DIMENSIONS[dimension]:
        hint = f"use one of: {', '.join(DIMENSIONS[dimension])}"
        yield Mistake((*path, "unit"), f"{step.unit} is no unit of {dimension}", hint)
    for at, word in ((("affects",), step.affects), *((("also", i), word) for i, word in enumerate(step.also))):
        if word and word not in AFFECTS and not word.startswith("x-"):
            hint = nearest(word, list(AFFECTS)) + "; a word of your own begins with x-"
            yield Mistake((*path, *at), f"{word!r} is not known", hint)
    if len(step.choices) > MOST_CHOICES or (step.choices and reads):
        yield Mistake((*path, "choices"), "these cannot be chosen from", f"at most {MOST_CHOICES}, and no reading")
    yield from _limit(step.limit, dimension or _dimension(step.unit), (*path, "limit"))
    yield from _quantity(step.takes_at_least, "time", (*path, "takes_at_least"))
    if step.takes_at_least and step.act in MACHINE_ACTS:
        yield Mistake((*path, "takes_at_least"), "nobody does this by hand", "leave it out")


def _pass(one: Pass, procedure: Procedure, path: Path) -> Iterator[Mistake]:
    known = [nipple.id for nipple in procedure.nipples]
    if not one.nipples:
        yield Mistake((*path, "nipples"), "the pass visits no nipple", f"name one or more of: {', '.join(known)}")
    for index, name in enumerate(one.nipples):
        if known and name not in known:
            yield Mistake((*path, "nipples", index), f"nipple {name!r} is not known", nearest(name, known))
        elif name in one.nipples[:index]:
            yield Mistake((*path, "nipples", index), f"nipple {name!r} is there twice", "name each once a pass")
    for key in ("seconds", "seconds_tolerance", "order_tolerance", "pressure_age"):
        yield from _quantity(getattr(one, key), "time", (*path, key))
    yield from _quantity(one.overlap, "share", (*path, "overlap"))
    yield from _limit(one.pressure, "pressure", (*path, "pressure"))
    yield from _limit(one.volume, "volume", (*path, "volume"))
    if one.wire_command:
        yield from _run(one, path)
    elif one.order or one.order_tolerance or one.overlap or one.seconds_tolerance:
        why = "leave them out, or name the wire command"
        yield Mistake(path, "order, tolerances and overlap are given without a wire command", why)
    if one.pressure and not one.pressure_age:
        yield Mistake((*path, "pressure_age"), "a pressure is asked for", 'say how old its reading may be, like "60 s"')


RUN_NEEDS = {
    "seconds": 'how long it runs, like "20 s"',
    "seconds_tolerance": 'how far from that it may end, like "1 s"',
    "order": "whether the nipple opens before, with or after the run",
    "order_tolerance": 'how far from the start of the run it may open, like "10 s"',
    "overlap": 'during what share of the run the nipple must be open, like "90 %"',
}


def _run(one: Pass, path: Path) -> Iterator[Mistake]:
    if not one.wire_command.strip():
        yield Mistake((*path, "wire_command"), "the name is blank", "name a wire command of the protocol map")
    for key, hint in RUN_NEEDS.items():
        if not getattr(one, key):
            yield Mistake((*path, key), "a wire command runs and this is not given", f"say {hint}")
    for key in ("seconds", "overlap"):
        text = getattr(one, key)
        if text and not list(_quantity(text, "time" if key == "seconds" else "share", path)):
            number = quantity.parse(text, place=key).number
            if number <= 0 or (key == "overlap" and number > 100):
                yield Mistake((*path, key), f"{text} makes no sense here", f"say {RUN_NEEDS[key]}")


def _quantity(text: str, dimension: str, path: Path) -> Iterator[Mistake]:
    """Check the text of a quantity; empty is fine (not given)."""
    wrong = _wrong(text, dimension) if text else None
    if wrong is not None:
        yield Mistake(path, *wrong)


@lru_cache(1024)
def _wrong(text: str, dimension: str) -> tuple[str, str] | None:
    """Return what is wrong with a quantity and what to write, None for nothing; passes give the same few."""
    example = EXAMPLES.get(dimension, "2.0 bar")
    try:
        value = quantity.parse(text, place="")
    except InputError as error:
        units = f", in one of: {', '.join(DIMENSIONS[dimension])}" if dimension else ""
        _, _, unit = text.strip().partition(" ")
        likely = quantity.meant(unit.strip()) if "unit" in error.what else ""
        return error.what, f'{likely}write a number and a unit, like "{example}"{units}'
    if dimension and value.unit not in DIMENSIONS[dimension]:
        return f"{value.unit} is no unit of {dimension}", f"use one of: {', '.join(DIMENSIONS[dimension])}"
    if value.number < 0 and dimension in ("time", "share", "volume"):
        return f"{text} is negative", f'write a number like "{example}"'
    return None


def _limit(limit: Limit | None, dimension: str, path: Path) -> Iterator[Mistake]:
    if limit is None:
        return
    mistakes = [
        *_quantity(limit.low, dimension, (*path, "low")),
        *_quantity(limit.high, dimension, (*path, "high")),
    ]
    yield from mistakes
    if not limit.low and not limit.high:
        yield Mistake(path, "the limit has no end", "give low, high or both")
    if mistakes or not (limit.low and limit.high):
        return
    low, high = (quantity.parse(text, place="") for text in (limit.low, limit.high))
    try:
        if quantity.compare(low, high) > 0:
            yield Mistake(path, f"low {low} is above high {high}", "exchange them")
    except InputError:
        yield Mistake(path, f"{low} and {high} are of different kinds", "give both in units of one kind")


def _dimension(unit: str) -> str:
    return next((name for name, units in DIMENSIONS.items() if unit in units), "")


def _seconds(text: str) -> float | None:
    return quantity.convert(quantity.parse(text, place=""), "s") if text else None

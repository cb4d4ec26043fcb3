"""Do the figures of a procedure fit one another, and can they be met at all?

A procedure whose shape fits flows in, every mistake flows out. Rules that hold here: a figure that cannot be read is
another's mistake and is passed over; each mistake stands at the key that an author has to change.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal

from witnessmark import quantity
from witnessmark.document.mistake import Mistake, Path
from witnessmark.document.shape import nearest
from witnessmark.errors import InputError
from witnessmark.procedure.bounds import BOUNDS, LONGEST_STEP, MOST_OF, MOST_TURNS
from witnessmark.procedure.model import Limit, Nipple, Pass, Procedure, Step
from witnessmark.procedure.pump import works_pump
from witnessmark.procedure.steps import each_step
from witnessmark.procedure.words import READINGS
from witnessmark.quantity import UNITS

WHOLE = ("container_age", "reservoir", "balance_tolerance", "pressure_fall", "voltage_gap", "manual_uncertainty")
OF_PUMP = ("longest_run", "rest", "on_time", "window")
OF_NIPPLE = ("line_volume", "bore", "length", "caliper_volume")
OF_PASS = ("seconds_tolerance", "order_tolerance", "pressure_age")
HELD = ("level", "volume-removed", "volume-in", "volume")
"""Readings that cannot be more than the reservoir holds."""
NEVER_NEGATIVE = ("feed-pressure", "torque", "wheel-torque", "voltage")
TURNS = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*turns?\b")
SWAP = "give a band that can be met, or one end of it"


def figures(procedure: Procedure) -> Iterator[Mistake]:
    """Return every figure that is nothing, or that another one makes impossible."""
    yield from _nothing(procedure, WHOLE, ())
    yield from _bands(procedure)
    yield from _plausible(procedure)
    yield from _voltages(procedure)
    yield from _reservoir(procedure)
    yield from _pressure(procedure)
    yield from _pump(procedure)
    for index, nipple in enumerate(procedure.nipples):
        yield from _nothing(nipple, OF_NIPPLE, ("nipples", index))
        yield from _filled(nipple, ("nipples", index))
        yield from _torque(nipple, ("nipples", index, "torque"))
    for index, one in enumerate(procedure.passes):
        yield from _nothing(one, OF_PASS, ("passes", index))
        yield from _times(one, ("passes", index))
    yield from _never_read(procedure)
    for index, question in enumerate(procedure.questions):
        yield from _nothing(question, ("holds",), ("questions", index))
    for path, step in each_step(procedure):
        yield from _step(step, procedure, path)


def _nothing(part: object, keys: tuple[str, ...], path: Path) -> Iterator[Mistake]:
    """A figure that was given has to be more than nothing."""
    for key in keys:
        value = read(getattr(part, key))
        if value is not None and value.number <= 0:
            yield Mistake((*path, key), f"{value} is not more than nothing", "say how much, or leave it out")


def _bands(procedure: Procedure) -> Iterator[Mistake]:
    limits: list[tuple[Path, Limit | None, bool]] = [
        (("voltage",), procedure.voltage, True),
        (("pressure_limit",), procedure.pressure_limit, True),
    ]
    limits += [(("nipples", i, "torque"), one.torque, True) for i, one in enumerate(procedure.nipples)]
    limits += [(("preconditions", i, "limit"), one.limit, False) for i, one in enumerate(procedure.preconditions)]
    limits += [(("passes", i, "pressure"), one.pressure, True) for i, one in enumerate(procedure.passes)]
    limits += [(("passes", i, "volume"), one.volume, True) for i, one in enumerate(procedure.passes)]
    limits += [((*path, "limit"), step.limit, step.what in NEVER_NEGATIVE) for path, step in each_step(procedure)]
    for path, limit, positive in limits:
        low, high = (read(limit.low), read(limit.high)) if limit is not None else (None, None)
        if low is not None and high is not None and _compare(low, high) == 0:
            yield Mistake(path, f"low and high are both {high}", SWAP)
        if positive and low is not None and low.number < 0:
            yield Mistake((*path, "low"), f"{low} is less than nothing", "say the least that is allowed")
        if positive and high is not None and high.number <= 0:
            yield Mistake((*path, "high"), f"{high} is not more than nothing", "say the most that is allowed")
        for key, end in (("low", low), ("high", high)):
            if end is not None and end.unit == "%" and end.number > 100:
                yield Mistake((*path, key), f"{end} is more than all of it", "write a share up to 100 %")


def _plausible(procedure: Procedure) -> Iterator[Mistake]:
    """No limit reaches beyond what the figure can be at all, and no nipple is opened until it comes out."""
    limits: list[tuple[Path, Limit | None, str]] = [(("pressure_limit",), procedure.pressure_limit, "feed-pressure")]
    limits += [(("nipples", i, "torque"), one.torque, "torque") for i, one in enumerate(procedure.nipples)]
    limits += [(("passes", i, "pressure"), one.pressure, "feed-pressure") for i, one in enumerate(procedure.passes)]
    limits += [((*path, "limit"), step.limit, step.what) for path, step in each_step(procedure)]
    most = {what: f"{high} {unit}" for (what, unit), (_, high) in BOUNDS.items()}
    for path, limit, what in limits:
        for key in ("low", "high"):
            end = getattr(limit, key, "")
            if above(end, most.get(what, "")):
                wrong = f"{end} is more than any {what.replace('-', ' ')} is ({most[what]} at most)"
                yield Mistake((*path, key), wrong, "write what the maker publishes, and look at its unit")
    parts: list[tuple[Path, object]] = [((), procedure), (("pump",), procedure.pump)]
    parts += [(("nipples", index), nipple) for index, nipple in enumerate(procedure.nipples)]
    for path, part in parts:
        for key, (end, high) in {key: (getattr(part, key, ""), high) for key, high in MOST_OF.items()}.items():
            if above(end, high):
                wrong = f"{end} is more than any {key.replace('_', ' ')} is ({high} at most)"
                yield Mistake((*path, key), wrong, "write what the maker publishes, and look at its unit")
    for index, nipple in enumerate(procedure.nipples):
        turns = TURNS.match(nipple.opening)
        if turns is not None and not 0 < Decimal(turns[1].replace(",", ".")) <= MOST_TURNS:
            wrong = f"{nipple.opening} is no way to open a nipple ({MOST_TURNS} turns at most, and more than none)"
            yield Mistake(("nipples", index, "opening"), wrong, "write what the maker publishes, like 0.5 turn")


def _voltages(procedure: Procedure) -> Iterator[Mistake]:
    """What the supply must have before a run and what it must have while it runs can be had at once."""
    while_it_runs = procedure.voltage
    for index, one in enumerate(procedure.preconditions):
        if one.name != "voltage" or one.limit is None or while_it_runs is None:
            continue
        for low, high in ((one.limit.low, while_it_runs.high), (while_it_runs.low, one.limit.high)):
            if above(low, high):
                what = f"{low} at least and {high} at most: the supply is never within this and voltage"
                yield Mistake(("preconditions", index, "limit"), what, "correct one of the two")


def _reservoir(procedure: Procedure) -> Iterator[Mistake]:
    """What is read of the reservoir, and what one pass draws from it, is no more than it holds."""
    holds = procedure.reservoir
    if above(procedure.balance_tolerance, holds):
        what = f"{procedure.balance_tolerance} is more than the reservoir holds ({holds})"
        yield Mistake(("balance_tolerance",), what, "say how far the instruments may disagree")
    limits = [((*path, "limit"), step.limit) for path, step in each_step(procedure) if step.what in HELD]
    for path, limit in limits:
        for key in ("low", "high"):
            if limit is not None and above(getattr(limit, key), holds):
                what = f"{getattr(limit, key)} is more than the reservoir holds ({holds})"
                yield Mistake((*path, key), what, "correct this, or reservoir")
    for index, one in enumerate(procedure.passes):
        if one.volume is not None and above(one.volume.low, holds):
            what = f"{one.volume.low} is more than the reservoir holds ({holds}): it would run dry"
            yield Mistake(("passes", index, "volume", "low"), what, "make it two passes with a filling between")


def _pressure(procedure: Procedure) -> Iterator[Mistake]:
    """Each pressure that is asked for lies within what the feed may ever have."""
    may = procedure.pressure_limit
    if may is None or above(may.low, may.high):
        return
    if above(procedure.pressure_fall, may.high):
        what = f"{procedure.pressure_fall} is more than the feed ever has ({may.high})"
        yield Mistake(("pressure_fall",), what, "say how much it may lose between two readings")
    asked: list[tuple[Path, Limit | None]] = [
        (("passes", index, "pressure"), one.pressure) for index, one in enumerate(procedure.passes)
    ]
    asked += [((*path, "limit"), step.limit) for path, step in each_step(procedure) if step.what == "feed-pressure"]
    for path, limit in asked:
        for key in ("low", "high"):
            end = getattr(limit, key, "")
            if above(end, may.high):
                yield Mistake((*path, key), f"{end} is above pressure_limit ({may.high})", "correct one of the two")
            elif above(may.low, end):
                yield Mistake((*path, key), f"{end} is below pressure_limit ({may.low})", "correct one of the two")


def _pump(procedure: Procedure) -> Iterator[Mistake]:
    pump = procedure.pump
    if pump is None:
        return
    yield from _nothing(pump, OF_PUMP, ("pump",))
    commands = list(dict.fromkeys(one.wire_command for one in procedure.passes if one.wire_command))
    if not commands:
        yield Mistake(("pump",), "no pass runs a wire command", "leave [pump] out, or name the wire commands")
    if not any(getattr(pump, key) for key in OF_PUMP):
        yield Mistake(("pump",), "it limits nothing", "give longest_run, rest, or on_time and window")
    for index, name in enumerate(pump.wire_commands):
        at: Path = ("pump", "wire_commands", index)
        if name not in commands:
            yield Mistake(at, f"no pass runs the wire command {name!r}", nearest(name, commands))
        elif name in pump.wire_commands[:index]:
            yield Mistake(at, f"wire command {name!r} is there twice", "name each once")
    if above(pump.longest_run, pump.on_time):
        what = f"{pump.longest_run} is more than on_time allows ({pump.on_time})"
        yield Mistake(("pump", "longest_run"), what, "correct one of the two")
    if above(pump.on_time, pump.window):
        what = f"{pump.on_time} is more than the window has ({pump.window})"
        yield Mistake(("pump", "on_time"), what, "exchange them")
    for index, one in enumerate(procedure.passes):
        if not one.wire_command or not works_pump(procedure, one.wire_command):
            continue
        for key in ("longest_run", "on_time"):
            if above(one.seconds, getattr(pump, key)):
                what = f"{one.seconds} is longer than the pump may run (pump.{key} {getattr(pump, key)})"
                yield Mistake(("passes", index, "seconds"), what, "correct one of the two: it would never be sent")
                break


def _torque(nipple: Nipple, path: Path) -> Iterator[Mistake]:
    """A nipple is tightened to a band: one without its least holds nothing, one without its most breaks it off."""
    if nipple.torque is None:
        return
    low = read(nipple.torque.low)
    if not nipple.torque.low or (low is not None and low.number == 0):
        yield Mistake((*path, "low"), "the least is missing: a nipple that is not tightened leaks", "give both ends")
    if not nipple.torque.high:
        yield Mistake((*path, "high"), "the most is missing: a nipple that is over-tightened breaks", "give both ends")


def _never_read(procedure: Procedure) -> Iterator[Mistake]:
    """The pressure that a pass asks for is read at some step: where it is not, a nipple opens under any."""
    read_at = {step.what for _, step in each_step(procedure) if step.act == "read"}
    if "feed-pressure" in read_at or read_at - READINGS.keys():
        return
    for index, one in enumerate(procedure.passes):
        if one.pressure is not None:
            hint = 'give a step with act = "read", what = "feed-pressure", or leave it out'
            yield Mistake(("passes", index, "pressure"), "no step reads the feed's pressure", hint)


def _filled(nipple: Nipple, path: Path) -> Iterator[Mistake]:
    if nipple.line_volume and (nipple.bore or nipple.length):
        what = "the line is given twice: by its volume, and by bore and length"
        yield Mistake((*path, "line_volume"), what, "keep one of the two")


def _times(one: Pass, path: Path) -> Iterator[Mistake]:
    if not one.wire_command:
        for key in ("seconds", "two_people"):
            if getattr(one, key):
                yield Mistake((*path, key), "nothing runs on this pass", "leave it out, or name the wire command")
        return
    if _reaches(one.seconds_tolerance, one.seconds):
        what = f"{one.seconds_tolerance} is as much as the whole run ({one.seconds})"
        yield Mistake((*path, "seconds_tolerance"), what, "say how far from its seconds it may end")
    if one.order in ("with", "after") and _reaches(one.order_tolerance, one.seconds):
        what = f"{one.order_tolerance} after its start the run of {one.seconds} is over"
        yield Mistake((*path, "order_tolerance"), what, "say how long after its start the nipple may open")
    elif one.order in ("with", "after"):
        yield from _overlap(one, (*path, "overlap"))


def _overlap(one: Pass, path: Path) -> Iterator[Mistake]:
    """A nipple that opens as late as it may is open for the share that is asked for."""
    late, runs, share = (read(text) for text in (one.order_tolerance, one.seconds, one.overlap))
    if late is None or runs is None or share is None or late.number <= 0 or _compare(late, runs) != -1:
        return
    left = 100 * (1 - quantity.convert(late, "s") / quantity.convert(runs, "s"))
    if share.unit == "%" and share.number <= 100 and float(share.number) > left + 1e-9:
        what = f"opened {late} after its start it is open for {quantity.plain(left, 3)} % of the run of {runs}"
        yield Mistake(path, what, "ask for that share at most, or have it opened sooner (order_tolerance)")


def _step(step: Step, procedure: Procedure, path: Path) -> Iterator[Mistake]:
    yield from _nothing(step, ("takes_at_least",), path)
    for end in (read(step.limit.low), read(step.limit.high)) if step.limit is not None and step.unit in UNITS else ():
        if end is not None and _compare(end, quantity.Quantity("1", step.unit)) is None:
            what = f"{step.unit} is asked for, and the limit is in {end.unit}"
            yield Mistake((*path, "unit"), what, "give both in units of one kind")
            break
    high = step.limit.high if step.limit is not None else ""
    if step.what == "container-age" and above(high, procedure.container_age):
        what = f"{high} is more than container_age ({procedure.container_age})"
        yield Mistake((*path, "limit", "high"), what, "correct one of the two")
    if above(step.takes_at_least, LONGEST_STEP):
        what = f"{step.takes_at_least} is longer than any step takes ({LONGEST_STEP} at most)"
        yield Mistake((*path, "takes_at_least"), what, "look at its unit")
    if step.what == "torque" and step.limit is not None:
        for nipple in procedure.nipples:
            if nipple.torque is not None and not _same(nipple.torque, step.limit):
                what = f"nipple {nipple.id!r} has another torque, and that one is asked for"
                yield Mistake((*path, "limit"), what, "leave it out here, or correct one of the two")
                break
    if step.what == "torque" and step.limit is None:
        for index, nipple in enumerate(procedure.nipples):
            if nipple.torque is None:
                what = f"its torque is read at step {step.id!r} and no band is given"
                yield Mistake(("nipples", index, "torque"), what, "give the torque that the maker publishes")


def _same(one: Limit, other: Limit) -> bool:
    """Whether two bands are one; an end that cannot be read is another's mistake."""
    for mine, theirs in ((one.low, other.low), (one.high, other.high)):
        left, right = read(mine), read(theirs)
        if bool(mine) != bool(theirs) or (left and right and _compare(left, right)):
            return False
    return True


def read(text: str) -> quantity.Quantity | None:
    """Return a quantity, None where there is none or it cannot be read."""
    try:
        return quantity.parse(text, place="") if text else None
    except InputError:
        return None


def above(text: str, most: str) -> bool:
    """Whether a quantity is more than another of its kind; where one of them is not given or not readable: no."""
    one, other = read(text), read(most)
    return one is not None and other is not None and _compare(one, other) == 1


def _reaches(text: str, other: str) -> bool:
    one, two = read(text), read(other)
    return one is not None and two is not None and two.number > 0 and _compare(one, two) in (0, 1)


def _compare(one: quantity.Quantity, other: quantity.Quantity) -> int | None:
    try:
        return quantity.compare(one, other)
    except InputError:
        return None

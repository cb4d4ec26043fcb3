"""The walk of a job: procedure and plan flow in, the ordered points flow out.

A point is one touch of a person or one run: a step, a reading, a nipple opened or closed, an actuation. Rules that hold
here: the order is the procedure's; a pass is its steps before, its pressure read, its nipples opened as `order` says,
the run, its nipples closed, its steps after; what is said of a nipple is asked for each nipple of the pass; a bottle
that two passes share is read after the second where that follows at once, else after each.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product, zip_longest
from typing import Literal

from msgspec import structs

from witnessmark.job.amount import unit_of
from witnessmark.procedure import service_mode
from witnessmark.procedure.model import MACHINE_ACTS, Limit, Pass, Procedure, Step
from witnessmark.procedure.safe import ONCE_SAFE, makes_safe

PointKind = Literal["step", "reading", "open", "run", "close", "ask"]

PRESSURE, BOTTLE, AGE = "feed-pressure", "volume", "container-age"
OF_A_NIPPLE = {"torque", "volume", "torqued", "capped", "clear"}
"""What a step reads or affects that belongs to one nipple, in the procedure's own words."""


@dataclass(frozen=True, slots=True)
class Point:
    """One point of the walk. `step` is set for `step`, `reading` and `ask`; `limit` is the band a reading is held to.

    An `ask` is the machine's own: it reads the control unit. `also` are the words that its touch says besides.
    `again`: the walk has come to it before; `late`: it is asked again, for its nipple was shut or
    tightened only after it, or it was passed over with how the fluid ran; `mends`: it stands before its check, where
    that is mended while the vehicle is safe.
    """

    kind: PointKind
    pass_id: str = ""
    nipple: str = ""
    step: Step | None = None
    limit: Limit | None = None
    also: tuple[str, ...] = ()
    again: bool = False
    late: bool = False
    mends: bool = False

    @property
    def closes(self) -> bool:
        """Whether its touch says that its nipple is closed."""
        return self.kind == "close" or "closed" in self.also

    @property
    def id(self) -> str:
        """A name of the point that is unique in the walk."""
        what = self.step.id if self.step else self.kind
        return ":".join(part for part in (self.pass_id, what, self.nipple) if part)


VOUCHES = {"torque", "torqued", "capped"}
"""What a step behind a pass reads or affects that says how its nipple was left."""
OVER = frozenset({"closed", "clear"})
"""What such a step may say besides that is not said again: nobody sees any more how it ran."""


def vouches(point: Point) -> bool:
    """Whether a point says how its nipple was left."""
    step = point.step
    return step is not None and not VOUCHES.isdisjoint({step.what, step.affects, *point.also})


def once_more(point: Point) -> Point:
    """Return a step of a nipple as it is asked again once that was shut: without what is over."""
    assert point.step is not None
    step = structs.replace(point.step, affects="" if point.step.affects in OVER else point.step.affects)
    return replace(point, step=step, also=tuple(word for word in point.also if word not in OVER), again=True, late=True)


def is_bottle(point: Point) -> bool:
    """Whether a point reads how much ran into a bottle and nothing else, so that it may have been spilled, unread."""
    return point.step is not None and point.step.what == BOTTLE and "clear" not in point.also


def walk(procedure: Procedure, plan: Iterable[Pass]) -> tuple[Point, ...]:
    """Return every point of the job, in order."""
    points = [_point(step, own=_age(procedure, step)) for step in procedure.steps_before]
    passes = tuple(plan)
    for one, after in zip_longest(passes, passes[1:]):
        points += visit(procedure, one, after.id if after is not None else "")
    points += [_point(step, own=_age(procedure, step)) for step in procedure.steps_after]
    return tuple(points)


STANDS = ("Nipple ", "The feed's pressure", service_mode.SAID)
"""How a line begins that says what stands open on the vehicle."""
LEFT = "Left open by the job before:"
THE_RECORD = "the earlier record cannot be put right: what shows it now is that the passes are done again"
"""How an item begins that nothing at the vehicle puts right: its lines are read, and nothing is said of them."""
LOOK = "Put it right, then look: is it as it must be?"


def begun(procedure: Procedure, plan: Iterable[Pass], earlier: Sequence[str]) -> tuple[Point, ...]:
    """Return every point of a job that comes back to another, which left the things of `earlier` open.

    They come before all else, but for those that say that they wait until it is made safe: these come right behind it.
    """
    points, looks = walk(procedure, plan), look_first(earlier)
    late = [look for look, text in zip(looks, earlier, strict=True) if text.startswith(ONCE_SAFE)]
    safe = makes_safe(procedure)
    return (*(look for look in looks if look not in late), *points[:safe], *late, *points[safe:])


def look_first(earlier: Iterable[str]) -> tuple[Point, ...]:
    """Return a step for each thing that an earlier job left open."""
    steps = (
        Step(
            id=f"earlier-{number}",
            text=_left(text.removeprefix(ONCE_SAFE)),
            act="do" if text.startswith(THE_RECORD) else "check",
        )
        for number, text in enumerate(earlier, 1)
    )
    return tuple(_point(step) for step in steps)


def left_standing(point: Point | None) -> bool:
    """Whether a point closes what an earlier job left open on the vehicle."""
    step = point.step if point is not None else None
    return step is not None and step.id.startswith("earlier-") and step.text.startswith(_LEFT_STANDING)


_LEFT_STANDING = tuple(f"{LEFT} {one}" for one in STANDS)


def _left(text: str) -> str:
    """Return what was left open with what is done about it, below it where it is a list."""
    if text.startswith(THE_RECORD):
        return f"{LEFT} {text}"
    if "\n" in text:
        return f"{LEFT} {text}\n{LOOK}"
    return f"{LEFT} {text.rstrip('.')}{'' if text.endswith('?') else '.'} {LOOK}"


def visit(procedure: Procedure, one: Pass, after: str = "") -> Iterator[Point]:
    """Yield the points of a pass, `after` which that pass follows at once."""
    reads_pressure = any(step.what == PRESSURE for step in procedure.steps_before_each_pass)
    for step in procedure.steps_before_each_pass:
        yield from _in_pass(procedure, one, step, after)
    if one.pressure is not None and not reads_pressure:
        yield pressure_point(procedure, one)
    opens = one.order in ("", "before") or not one.wire_command
    if opens:
        yield from (Point("open", one.id, nipple) for nipple in one.nipples)
    if one.wire_command:
        yield Point("run", one.id)
    if not any("closed" in step.also for step in procedure.steps_after_each_pass):
        yield from (Point("close", one.id, nipple) for nipple in one.nipples)
    for step in procedure.steps_after_each_pass:
        yield from _in_pass(procedure, one, step, after)


def pressure_point(procedure: Procedure, one: Pass) -> Point:
    """Return the reading of the feed pressure that a pass asks for, as the procedure has it read before a pass."""
    own = next((step for step in procedure.steps_before_each_pass if step.what == PRESSURE), None)
    step = Step(
        id="pressure",
        text=own.text if own else "Read the feed pressure",
        act="read",
        what=PRESSURE,
        unit=own.unit if own else unit_of(one.pressure, "bar"),
        instrument=own.instrument if own else "",
        caution=own.caution if own else "",
    )
    return Point("reading", one.id, step=step, limit=one.pressure)


def _in_pass(procedure: Procedure, one: Pass, step: Step, after: str) -> Iterator[Point]:
    if step.affects == "clear" and not one.clear:
        return
    if step.what == "volume" and one.bottle_with and one.bottle_with == after:
        return
    if OF_A_NIPPLE & {step.what, step.affects, *step.also} and not step.whole_pass:
        for nipple in one.nipples:
            torque = next((known.torque for known in procedure.nipples if known.id == nipple), None)
            own = {"torque": torque, "volume": one.volume if len(one.nipples) == 1 else None}.get(step.what)
            yield _point(step, one.id, nipple, own, said=_also(step, one))
        return
    bands = {PRESSURE: one.pressure, "volume": one.volume, AGE: _age(procedure, step)}
    yield _point(step, one.id, own=bands.get(step.what), said=_also(step, one))


def of_no_pass(procedure: Procedure, nipple: str) -> Iterator[Point]:
    """Yield what is said of each nipple behind a pass, for one that no pass of the job opens, by its name."""
    nipples = [one for one in procedure.nipples if one.id == nipple]
    for known, step in product(nipples, procedure.steps_after_each_pass):
        if OF_A_NIPPLE & {step.what, step.affects, *step.also}:
            named = structs.replace(step, text=f"{known.name}: {step.text}")
            yield _point(named, "", nipple, known.torque if step.what == "torque" else None)


def _age(procedure: Procedure, step: Step) -> Limit | None:
    """Return the band of a container's age where its step gives no most of its own: the procedure's."""
    own = step.limit or Limit()
    if step.what != AGE or own.high or not procedure.container_age:
        return None
    return Limit(low=own.low, high=procedure.container_age)


def _also(step: Step, one: Pass) -> tuple[str, ...]:
    """What a step says besides on this pass: nothing of running clear where the pass does not ask for it."""
    return tuple(word for word in step.also if word != "clear" or one.clear)


def _point(
    step: Step,
    pass_id: str = "",
    nipple: str = "",
    own: Limit | None = None,
    said: tuple[str, ...] | None = None,
) -> Point:
    kind: PointKind = "ask" if step.act in MACHINE_ACTS else "reading" if step.act in ("read", "volume") else "step"
    return Point(kind, pass_id, nipple, step, own or step.limit, step.also if said is None else said)

"""The state of a job: a pure fold over its entries, with no clock and no file.

Entries flow in, in order; a `JobState` flows out. Rules that hold here: the same entries give the same state; what was
done is known from entries alone, so that a new runner goes on where the last one died; a run that did not complete
holds the job until a person has decided, and one whose end nobody knows until a person has looked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

from witnessmark.clock import NS
from witnessmark.errors import InputError
from witnessmark.job.steps import PRESSURE, Point, again_next_day, look_first, walk
from witnessmark.journal import bodies
from witnessmark.journal.bodies import Body, from_body
from witnessmark.journal.entry import Entry, Recorded
from witnessmark.mapping.load import from_document as map_from_document
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.procedure.load import from_document as procedure_from_document
from witnessmark.procedure.model import Pass, Procedure

Status = Literal["open", "paused", "abandoned", "finished", "released"]

REDO, ACCEPT = "run-again", "run-accepted"
"""The step ids by which a person decides on a run that did not complete."""
MISSED = "nipple-missed"
"""The step id by which a person says that a nipple was not opened while it ran."""
LATER = "open-later"
"""The step id by which a nipple is left shut until the run has begun."""
OTHER_PASS = "pass-first"
"""The step id by which a later pass is taken first."""
EMPTY, REFILL = "empty", "refill"
NEXT_DAY_S = 6 * 3600
"""How long a job may lie before it counts as gone on with another day: a choice of this project, no source."""
VEHICLE = "vehicle number"
"""The condition by which the control unit's number is compared with the one that was typed."""


@dataclass(frozen=True, slots=True)
class ReadingState:
    """The last reading of its kind. `within` is None when no band was given."""

    amount: bodies.Amount
    within: bool | None
    recorded: Recorded
    pass_id: str
    seq: int
    nipple: str = ""


@dataclass(frozen=True, slots=True)
class RunState:
    """One run that reached the vehicle or may have. `from_mono` and `to_mono` are ns, None where not known."""

    intent: int
    pass_id: str
    wire_command: str
    seconds: str
    recorded: Recorded
    from_mono: int | None = None
    to_mono: int | None = None
    ended: bool = False


@dataclass(frozen=True, slots=True)
class JobState:
    """Where a job stands after its entry `last_seq`.

    `cursor` is the index of the next of `points`. `open_intent` is an intent without an outcome, `inspect` an actuation
    whose end nobody knows and nobody has looked at yet, `decide` the pass whose run must be done again or accepted,
    `pressure_kept` the reading below a pass's band that a person kept with a reason. `vehicle` is its number as typed,
    `instruments` until when each is calibrated.
    """

    job: str
    procedure: Procedure
    map: ProtocolMap | None
    map_digest: str
    grade: bodies.Grade
    plan: tuple[Pass, ...]
    points: tuple[Point, ...]
    link: str
    procedure_digest: str = ""
    cursor: int = 0
    status: Status = "open"
    last_seq: int = -1
    open_nipples: tuple[str, ...] = ()
    pressurised: bool = False
    reservoir_empty: bool = False
    readings: tuple[tuple[str, ReadingState], ...] = ()
    runs: tuple[RunState, ...] = ()
    armed: bodies.Armed | None = None
    answered: bodies.Armed | None = None
    open_intent: int | None = None
    interrupted: bool = False
    inspect: int | None = None
    decide: str = ""
    pressure_kept: int | None = None
    vehicle: str = ""
    instruments: tuple[tuple[str, str], ...] = ()
    last_wall_ns: int = 0

    @property
    def point(self) -> Point | None:
        """The next point; None when all are done."""
        return self.points[self.cursor] if self.cursor < len(self.points) else None

    def pass_of(self, pass_id: str) -> Pass | None:
        return next((one for one in self.plan if one.id == pass_id), None)

    def command_of(self, one: Pass) -> WireCommand | None:
        """The wire command a pass needs, as the map has it; None when the map does not."""
        known = self.map.wire_commands if self.map else ()
        return next((command for command in known if command.id == one.wire_command), None)

    @property
    def passes_ahead(self) -> tuple[str, ...]:
        """The pass that is next and those after it, when none of its points is done and no nipple stands open."""
        point = self.point
        if point is None or not point.pass_id or self.open_nipples or self.decide or self.inspect is not None:
            return ()
        if self.cursor and self.points[self.cursor - 1].pass_id == point.pass_id:
            return ()
        ids = [one.id for one in self.plan]
        return tuple(ids[ids.index(point.pass_id) :])

    def reading(self, what: str) -> ReadingState | None:
        return dict(self.readings).get(what)

    def run_of(self, intent: int | None) -> RunState | None:
        return next((run for run in self.runs if run.intent == intent), None)

    def open_in(self, one: Pass) -> tuple[str, ...]:
        """The nipples of a pass that stand open."""
        return tuple(nipple for nipple in one.nipples if nipple in self.open_nipples)


def fold(entries: Iterable[Entry]) -> JobState:
    """Return the state of a job from its entries, the first of which opens it. Raises InputError when it does not."""
    rest = iter(entries)
    first = next(rest, None)
    if first is None or first.kind != "job-opened":
        raise InputError("no entry opens this job", place="job", hint="list the jobs of this journal")
    return reduce(advance, rest, _open(first))


def advance(state: JobState, entry: Entry) -> JobState:
    """Return the state after one more entry of the job. Kinds that change nothing are passed over."""
    change = _CHANGES.get(entry.kind)
    after = state if change is None else change(state, entry, from_body(entry.kind, entry.body))
    return replace(after, last_seq=entry.seq, last_wall_ns=entry.recorded.wall_ns)


def _open(entry: Entry) -> JobState:
    body = from_body(entry.kind, entry.body)
    assert isinstance(body, bodies.JobOpened)
    procedure = procedure_from_document(body.procedure)
    passes = {one.id: one for one in procedure.passes}
    missing = [name for name in body.plan if name not in passes]
    if missing:
        raise InputError(f"the plan names pass {missing[0]!r}", place="job", hint="open the job anew")
    plan = tuple(passes[name] for name in body.plan)
    return JobState(
        job=entry.job or "",
        procedure=procedure,
        map=map_from_document(body.map) if body.map else None,
        map_digest=body.map_digest,
        grade=body.grade,
        plan=plan,
        points=(*look_first(body.earlier), *walk(procedure, plan)),
        link=body.link,
        procedure_digest=body.procedure_digest,
        last_seq=entry.seq,
        last_wall_ns=entry.recorded.wall_ns,
        vehicle=body.vehicle.get("vin", ""),
        instruments=tuple(body.instruments.items()),
    )


def _step(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.StepDone)
    if body.act == "opened":
        opened = [*(one for one in state.open_nipples if one != body.nipple), body.nipple]
        state = replace(state, open_nipples=tuple(opened))
    elif body.act == "closed":
        state = replace(state, open_nipples=tuple(one for one in state.open_nipples if one != body.nipple))
    state = _affect(state, body)
    if body.act != "skipped":
        state = _shut(state, body.nipple, body.also)
    point = state.point
    held = point is not None and point.step is not None and point.kind != "ask" and not point.step.may_skip
    if body.act == "skipped" and held and point is not None and point.step is not None:
        clears = "clear" in (point.step.affects, *point.also)
        not_clear = clears and point.step.id == body.step and point.pass_id == body.pass_id
        return replace(state, decide=body.pass_id) if not_clear else state
    if body.step == OTHER_PASS:
        return _pass_first(state, body.pass_id)
    if point is not None and point.kind == "reading" and point.step is not None and body.act == "confirmed":
        state = _keep(state, point, body)
    if body.step == REDO:
        return replace(state, decide="", cursor=_first_of(state, body.pass_id))
    if body.step == MISSED:
        return replace(state, decide=body.pass_id)
    if body.step == ACCEPT:
        return replace(state, decide="", cursor=state.cursor + 1)
    return _past(state, body.step, body.act, body.pass_id, body.nipple)


def _keep(state: JobState, point: Point, body: bodies.StepDone) -> JobState:
    """Take note when it is the feed's pressure that is kept as it was read."""
    last = state.reading(PRESSURE)
    pressure = point.step is not None and point.step.what == PRESSURE and point.step.id == body.step
    return replace(state, pressure_kept=last.seq) if pressure and last is not None else state


def _pass_first(state: JobState, pass_id: str) -> JobState:
    """Move a pass before the one that is next; what is behind the cursor stays as it was done."""
    if pass_id not in state.passes_ahead:
        return state
    ahead = state.passes_ahead
    chosen = next(one for one in state.plan if one.id == pass_id)
    at = next(index for index, one in enumerate(state.plan) if one.id == ahead[0])
    rest = tuple(one for one in state.plan[at:] if one.id != pass_id)
    plan = (*state.plan[:at], chosen, *rest)
    return replace(state, plan=plan, points=walk(state.procedure, plan))


def _affect(state: JobState, body: bodies.StepDone) -> JobState:
    if body.act == "skipped":
        return state
    for word in (body.affects, *body.also):
        if word in ("pressurise", "depressurise", "feed-off"):
            state = replace(state, pressurised=word == "pressurise")
        elif word in (EMPTY, REFILL):
            state = replace(state, reservoir_empty=word == EMPTY)
    return state


def _shut(state: JobState, nipple: str, also: tuple[str, ...]) -> JobState:
    """Take the nipple as closed when the touch said so besides."""
    if "closed" not in also:
        return state
    return replace(state, open_nipples=tuple(one for one in state.open_nipples if one != nipple))


def _reading(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Reading)
    known = dict(state.readings)
    known[body.what] = ReadingState(body.amount, body.within, entry.recorded, body.pass_id, entry.seq, body.nipple)
    state = replace(state, readings=tuple(known.items()))
    if body.what == PRESSURE:
        state = replace(state, pressurised=any(digit in "123456789" for digit in body.amount.value))
    if body.affects in (EMPTY, REFILL):
        state = replace(state, reservoir_empty=body.affects == EMPTY)
    state = _shut(state, body.nipple, body.also)
    if body.within is False:
        return state
    return _past(state, body.step, "read", body.pass_id, body.nipple)


def _past(state: JobState, step: str, act: str, pass_id: str, nipple: str) -> JobState:
    """Move on when the entry is what the next point asked for."""
    point = state.point
    if point is None or point.pass_id != pass_id or point.nipple != nipple:
        return state
    if point.kind == "open":
        fits = act == "opened" or step == LATER
    elif point.kind == "close":
        fits = act == "closed"
    else:
        fits = point.step is not None and point.step.id == step
    return replace(state, cursor=state.cursor + 1) if fits else state


def _condition(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Condition)
    point = state.point
    asked = point is not None and point.step is not None and point.step.act == "identify"
    return replace(state, cursor=state.cursor + 1) if asked and body.name == VEHICLE and body.holds else state


def _scan(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.CodeScan)
    return _past(state, body.step, "done", "", "") if body.step else state


def _armed(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Armed)
    return replace(state, armed=body, answered=body)


def _disarmed(state: JobState, entry: Entry, body: Body) -> JobState:
    return replace(state, armed=None)


def _intent(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Intent)
    run = RunState(entry.seq, body.pass_id, body.wire_command, body.seconds, entry.recorded)
    return replace(state, armed=None, answered=None, open_intent=entry.seq, runs=(*state.runs, run))


def _outcome(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Outcome)
    never_ran = body.result == "refused" or (body.result == "stopped" and body.stop == "not sent")
    runs = tuple(
        replace(run, recorded=entry.recorded, from_mono=_ns(body.from_mono), to_mono=_ns(body.to_mono), ended=True)
        for run in state.runs
        if run.intent == body.actuation
    )
    others = tuple(run for run in state.runs if run.intent != body.actuation)
    state = replace(state, open_intent=None, interrupted=False, runs=others if never_ran else (*others, *runs))
    if never_ran:
        return state
    if body.result == "completed":
        point = state.point
        at_run = point is not None and point.kind == "run" and point.pass_id == body.pass_id
        return replace(state, cursor=state.cursor + 1) if at_run else state
    inspect = body.actuation if body.result == "unknown" else None
    return replace(state, inspect=inspect, decide=body.pass_id)


def _interrupted(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Interrupted)
    runs = tuple(
        replace(run, recorded=entry.recorded, ended=True) if run.intent == body.actuation else run for run in state.runs
    )
    return replace(state, runs=runs, open_intent=None, interrupted=True, inspect=body.actuation, decide=body.pass_id)


def _inspection(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Inspection)
    if not body.safe or body.actuation != state.inspect:
        return state
    runs = tuple(replace(run, recorded=entry.recorded) if run.intent == body.actuation else run for run in state.runs)
    return replace(state, inspect=None, interrupted=False, runs=runs)


def _state(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.State)
    if body.state == "open" and is_next_day(state, entry.recorded.wall_ns):
        rest = (*again_next_day(state.procedure), *state.points[state.cursor :])
        state = replace(state, points=(*state.points[: state.cursor], *rest))
    return replace(state, status=body.state)


def is_next_day(state: JobState, now_wall_ns: int) -> bool:
    """Whether a job has lain so long that what was seen at its start must be seen again."""
    begun = state.cursor > 0 and state.status in ("open", "paused")
    return begun and now_wall_ns - state.last_wall_ns >= NEXT_DAY_S * NS


def _first_of(state: JobState, pass_id: str) -> int:
    return next(index for index, point in enumerate(state.points) if point.pass_id == pass_id)


def _ns(text: str) -> int | None:
    return int(text) if text else None


_CHANGES: dict[str, Callable[[JobState, Entry, Body], JobState]] = {
    "step": _step,
    "reading": _reading,
    "condition": _condition,
    "scan": _scan,
    "armed": _armed,
    "disarmed": _disarmed,
    "intent": _intent,
    "outcome": _outcome,
    "interrupted": _interrupted,
    "inspection": _inspection,
    "state": _state,
}

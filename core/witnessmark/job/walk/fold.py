"""A job's state from its entries: a pure fold, with no clock and no file.

Entries flow in, in order; a `JobState` flows out. Rules that hold here: the same entries give the same state; what was
done is known from entries alone, so that a new runner goes on where the last one died; a run that did not complete
holds the job until a person has decided, and one whose end nobody knows until a person has looked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import reduce

from witnessmark.errors import InputError
from witnessmark.job import numbers, safety_look
from witnessmark.job.amiss import bled, bleeding, codes_left, not_right, not_safe, unclear, unwritten
from witnessmark.job.fluid import air, bottle, feed, reservoir, tank
from witnessmark.job.fluid.container import READ_OFF, filled, is_other
from witnessmark.job.keys import again
from witnessmark.job.unit import told_unit
from witnessmark.job.walk import (
    closed_late,
    corrected,
    decided,
    leaving,
    made_safe,
    other_pass,
    reopening,
    resume,
    runs,
    worked,
)
from witnessmark.job.walk.state import (
    ACCEPT,
    AGAIN,
    AIR_DRAWN,
    AS_EXPECTED,
    CUE_GIVEN,
    ENDED_EARLY,
    LATER,
    LEFT_BY_OTHERS,
    LEFT_OPEN,
    LEVEL_LOOK,
    MISSED,
    MIXING_ALLOWED,
    NOT_AGAIN,
    NOT_CLEAR,
    OFF_TO_FILL,
    OTHER_PASS,
    PASSES_AGAIN,
    PRESSURE_STAYS,
    PUT_RIGHT,
    READ_FLUIDS,
    READY,
    REDO,
    SAFETY_LOOK,
    STAYS_OPEN,
    UNWRITTEN,
    WITNESSED,
    Cue,
    JobState,
    ReadingState,
)
from witnessmark.job.walk.steps import PRESSURE, Point, begun, is_bottle
from witnessmark.journal import bodies
from witnessmark.journal.bodies import Body, from_body
from witnessmark.journal.entry import Entry
from witnessmark.mapping.load import digest
from witnessmark.mapping.load import from_document as map_from_document
from witnessmark.procedure.load import digest as procedure_digest
from witnessmark.procedure.load import from_document as procedure_from_document
from witnessmark.procedure.plan import followed


def fold(entries: Iterable[Entry], tried: tuple[bodies.FirstUse, ...] | None = None) -> JobState:
    """Return the state of a job from its entries, the first of which opens it. Raises InputError when it does not.

    `tried` is what counts of the first uses entered in this journal, in whatever job; those of this job if not given.
    """
    rest = iter(corrected.amounts(tuple(entries)))
    first = next(rest, None)
    if first is None or first.kind != "job-opened":
        raise InputError("no entry opens this job", place="job", hint="see `witnessmark job list`")
    state = reduce(advance, rest, _open(first))
    return state if tried is None else replace(state, tried=tried)


def advance(state: JobState, entry: Entry) -> JobState:
    """Return the state after one more entry of the job. Kinds that change nothing are passed over."""
    if entry.kind in leaving.KINDS:  # they say nothing of the vehicle: the job lies on
        return replace(state, last_seq=entry.seq)
    change = _CHANGES.get(entry.kind)
    state = resume.lay_open(state, entry.recorded.wall_ns)
    after = runs.moved(state, entry) if entry.kind == "moved" else state
    after = numbers.noted(state, entry) if entry.kind == "exchange" else after
    if change is not None:
        after = change(state, entry, from_body(entry.kind, entry.body))
    after = bled.noted(state, bottle.noted(state, after), entry)
    after = worked.noted(resume.worked(filled(_after_run(after), entry), entry), entry)
    after = worked.stamped(after, entry, state.point) if change is not None else after
    return after.changed(last_seq=entry.seq, last_wall_ns=entry.recorded.wall_ns)


def _after_run(state: JobState) -> JobState:
    """Pass over the run of the pass in hand when another tester has made it already."""
    point = state.point
    if not state.ran_ahead or point is None:
        return state
    if point.pass_id != state.ran_ahead:
        return replace(state, ran_ahead="")
    return replace(state, ran_ahead="", cursor=state.cursor + 1) if point.kind == "run" else state


def _open(entry: Entry) -> JobState:
    body = from_body(entry.kind, entry.body)
    assert isinstance(body, bodies.JobOpened)
    procedure = procedure_from_document(body.procedure)
    passes = {one.id: one for one in procedure.passes}
    missing = [name for name in body.plan if name not in passes]
    if missing:
        raise InputError(f"the plan names pass {missing[0]!r}", place="job", hint="open the job anew")
    plan = tuple(passes[name] for name in body.plan)
    known = map_from_document(body.map) if body.map else None
    return JobState(
        job=entry.job or "",
        procedure=procedure,
        map=known,
        # Of the documents themselves: an entry from elsewhere may name the digest of others, which are approved here.
        map_digest="" if known is None else digest(known),
        grade=body.grade,
        plan=plan,
        points=begun(procedure, plan, body.earlier),
        link=body.link,
        procedure_digest=procedure_digest(procedure),
        tank=tank.of(procedure),
        last_seq=entry.seq,
        worked_seq=entry.seq,
        follows=followed(body.scope),
        last_wall_ns=entry.recorded.wall_ns,
        worked_wall_ns=entry.recorded.wall_ns,
        vehicle=body.vehicle.get("vin", ""),
        instruments=tuple(body.instruments.items()),
    )


def _step(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.StepDone)
    body = unwritten.without_reason(state, body)
    word = state.word(body)
    state = unclear.note(not_right.note(_cue(state, entry, body, word), body), body)
    state = codes_left.note(not_safe.note(state, body), body)
    if word == MISSED:
        return decided.missed(state, body)
    if body.act == "opened":
        opened = [*(one for one in state.open_nipples if one != body.nipple), body.nipple]
        touched = {*state.was_open, (body.pass_id, body.nipple)}
        state = unwritten.settled(replace(state, open_nipples=tuple(opened), was_open=frozenset(touched)), body.nipple)
    elif body.act == "closed":
        state = _open_again(_closed(state, body.nipple), body.pass_id)
    if word == UNWRITTEN:
        return unwritten.passed(_shut(state, body.nipple, body.also), body)
    if word in air.DECIDED:
        return reopening.after(state, air.decided(state, again=word == PASSES_AGAIN))
    if word == LEVEL_LOOK:
        return replace(state, tank=replace(state.tank, seen=entry.recorded, doubt=""))
    if word in (LEFT_OPEN, PRESSURE_STAYS):
        return replace(state, stays_said=(*state.stays_said, body.nipple))
    if word == LEFT_BY_OTHERS:
        return replace(state, others=(), others_said=entry.seq)
    if word == STAYS_OPEN:
        return replace(state, stays_open=body.pass_id)
    if body.affects in READ_OFF and body.act != "skipped":
        fluids = dict(state.fluids) | {body.affects: body.answer}
        state = replace(state, fluids=tuple(fluids.items()), mixing_allowed=False)
    if word == MIXING_ALLOWED:
        return replace(state, mixing_allowed=True)
    if word == READ_FLUIDS:
        return _read_fluids(state)
    if word in (AGAIN, NOT_AGAIN):
        return (again.take_up_step if word == AGAIN else again.leave)(state, body.answer)
    if word == AS_EXPECTED:
        others = tuple(one for one in state.as_expected if one != body.pass_id)
        return replace(state, as_expected=others if body.answer else (*others, body.pass_id))
    if word == PUT_RIGHT:
        state = replace(state, put_right=body.answer, tank=state.tank.misread(body.answer, body.pass_id))
        return air.taken_back(state) if body.answer == AIR_DRAWN else state
    if word == ENDED_EARLY:
        return replace(state, why_due=False)
    if word == SAFETY_LOOK:
        return safety_look.looked(state, entry, body)
    if word == WITNESSED:
        return runs.witnessed(state, body.answer)
    if word == READY:
        return replace(state, ready=body.pass_id)
    state = _affect(state, entry, body)
    if word == OFF_TO_FILL:
        return feed.put_on_again(state)
    if body.act in ("done", "confirmed"):
        state = runs.hold(state, entry, (one.id for one in state.procedure.questions if one.said_by == body.step))
    if body.act != "skipped":
        state = _shut(state, body.nipple, body.also)
    point = state.point
    held = point is not None and point.step is not None and point.kind != "ask" and not_right.holds(state, point.step)
    if body.act == "skipped" and point is not None and is_bottle(point) and point.step and point.step.id == body.step:
        return _past(
            replace(state, tank=state.tank.unread(), spilled=body.pass_id),
            body.step,
            body.act,
            body.pass_id,
            body.nipple,
        )
    if body.act == "skipped" and held and point is not None and point.step is not None:
        clears = "clear" in (point.step.affects, *point.also)
        not_clear = clears and point.step.id == body.step and point.pass_id == body.pass_id
        return replace(state, decide=body.pass_id, done_not_right=NOT_CLEAR) if not_clear else state
    if word == OTHER_PASS:
        return feed.behind_the_lid(other_pass.first(state, body.pass_id))
    if word in (REDO, ACCEPT) and body.pass_id in unwritten.unrun(state) and state.decide != body.pass_id:
        return resume.spared(unwritten.decided(state, body))
    if point is not None and point.kind == "reading" and point.step is not None and body.act == "confirmed":
        state = _keep(state, point, body)
    if word == REDO:
        return reopening.after(state, bleeding.again(state, body.pass_id))
    if word == ACCEPT:
        of_card = body.pass_id in unclear.undecided(state) and state.decide != body.pass_id
        state = unclear.settled(state, body.pass_id)
        return resume.spared(state if of_card else decided.accepted(state, body.pass_id))
    if _is_other_fluid(state, body):
        return replace(state, wrong_fluid=body.answer)
    after = _past(state, body.step, body.act, body.pass_id, body.nipple)
    return after if after is state else replace(after, wrong_fluid="")


def _open_again(state: JobState, pass_id: str) -> JobState:
    """Ask again for the opening of a pass when a nipple of it was closed before its run, on another day too."""
    points = state.points
    ahead = decided.next_of_a_pass(state)
    if ahead is None or (points[ahead].kind, points[ahead].pass_id) != ("run", pass_id):
        return state
    if state.decide or state.open_intent is not None:
        return state
    first = ahead
    while first and (points[first - 1].kind, points[first - 1].pass_id) == ("open", pass_id):
        first -= 1
    if first < ahead:
        return replace(state, cursor=min(state.cursor, first))
    again = dict.fromkeys(one for one in points[:ahead] if (one.kind, one.pass_id) == ("open", pass_id))
    return replace(state, points=(*points[:ahead], *again, *points[ahead:]))


def _read_fluids(state: JobState) -> JobState:
    """Ask once more for what container and vehicle say."""
    read = {one.step.id: one for one in state.points[: state.cursor] if one.step and one.step.affects in READ_OFF}
    return again.take_up(replace(state, fluids=()), read.values())


def _is_other_fluid(state: JobState, body: bodies.StepDone) -> bool:
    """Whether a touch says that the container holds another fluid: the step stands until that is put right."""
    step = state.point.step if state.point is not None else None
    says = step is not None and body.step == step.id and body.affects == step.affects and body.act != "skipped"
    return says and step is not None and is_other(state.procedure, step, body.answer)


def _cue(state: JobState, entry: Entry, body: bodies.StepDone, word: str) -> JobState:
    """Take note of a cue, and of the word that answers it."""
    if word == CUE_GIVEN:
        return replace(state, cued=(*state.cued, Cue(body.pass_id, body.nipple, entry.occurred)))
    if body.act == "opened" or word == MISSED:
        return replace(state, cued=tuple(one for one in state.cued if one.nipple != body.nipple))
    return state


def _keep(state: JobState, point: Point, body: bodies.StepDone) -> JobState:
    """Take note when it is the feed's pressure that is kept as it was read."""
    last = state.reading(PRESSURE)
    pressure = point.step is not None and point.step.what == PRESSURE and point.step.id == body.step
    return replace(state, pressure_kept=last.seq, stays_open="") if pressure and last is not None else state


def _affect(state: JobState, entry: Entry, body: bodies.StepDone) -> JobState:
    if body.act == "skipped":
        return state
    for word in (body.affects, *body.also):
        if word in ("pressurise", "depressurise", "feed-off"):
            state = replace(state, pressurised=word == "pressurise")
            if word != "pressurise":  # what was read of it holds no more
                state = state.changed(readings=tuple(one for one in state.readings if one[0] != PRESSURE))
    return _reservoir(state, entry, body)


def _reservoir(state: JobState, entry: Entry, body: bodies.StepDone | bodies.Reading) -> JobState:
    """Take note of how the reservoir stands, if that is said."""
    empty = reservoir.said_in(reservoir.words_of(body))
    state = state.changed(tank=state.tank.after(body, empty, entry.recorded), air=state.air or air.drawn(state, body))
    return state if empty is None else replace(state, reservoir_empty=empty, reservoir_said=entry.seq)


def _shut(state: JobState, nipple: str, also: tuple[str, ...]) -> JobState:
    """Take the nipple as closed when the touch said so besides."""
    return _closed(state, nipple) if "closed" in also else state


def _closed(state: JobState, nipple: str) -> JobState:
    """Take a nipple as closed; where it stood open behind what vouches for it, have that said again."""
    was_open = nipple in state.open_nipples
    still, left = (tuple(one for one in many if one != nipple) for many in (state.open_nipples, state.left_open))
    state = unwritten.settled(replace(state, open_nipples=still, left_open=left), nipple)
    return closed_late.after(state, nipple) if was_open else state


def _reading(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Reading)
    state = not_safe.note(unclear.note(state, body), body)
    known = dict(state.readings)
    known[body.what] = ReadingState(body.amount, body.within, entry.recorded, body.pass_id, entry.seq, body.nipple)
    state = state.changed(readings=tuple(known.items()), put_right="")
    if body.what == PRESSURE:
        state = replace(state, pressurised=any(digit in "123456789" for digit in body.amount.value))
        state = state if body.within is False else replace(state, stays_open="")
    state = _shut(_reservoir(state, entry, body), body.nipple, body.also)
    if body.within is False:
        return state
    return _past(state, body.step, "read", body.pass_id, body.nipple)


def _past(state: JobState, step: str, act: str, pass_id: str, nipple: str) -> JobState:
    """Move on when the entry is what the next point asked for."""
    point = state.point
    if point is None or not _fits(point, step, act, pass_id, nipple):
        return state if act == "skipped" else made_safe.besides(state, step)
    past = state.changed(cursor=state.cursor + 1)
    return past if act == "skipped" else made_safe.after(past, point)


def _fits(point: Point, step: str, act: str, pass_id: str, nipple: str) -> bool:
    """Whether an entry is what a point asks for."""
    if (point.pass_id, point.nipple) != (pass_id, nipple):
        return False
    if point.kind == "open":
        return act == "opened" or step == LATER
    if point.kind == "close":
        return act == "closed"
    return point.step is not None and point.step.id == step


def _condition(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.Condition)
    return told_unit.found(state, body)


def _scan(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.CodeScan)
    state = codes_left.scanned(state, body)
    return _past(state, body.step, "done", "", "") if body.step and not state.codes_due else state


def _state(state: JobState, entry: Entry, body: Body) -> JobState:
    assert isinstance(body, bodies.State)
    now_ns = entry.recorded.wall_ns
    if body.state == "open":
        return resume.resumed(replace(state, looked=("", 0)), now_ns, body.again)
    if body.state == "paused":
        state = replace(state, paused_wall_ns=now_ns, stays_said=())
    return replace(state, status=body.state, held=())


_CHANGES: dict[str, Callable[[JobState, Entry, Body], JobState]] = {
    "step": _step,
    "reading": _reading,
    "condition": _condition,
    "scan": _scan,
    "armed": runs.armed,
    "disarmed": runs.disarmed,
    "intent": runs.intent,
    "outcome": runs.outcome,
    "interrupted": runs.interrupted,
    "inspection": runs.inspection,
    "first-use": runs.first_use,
    "state": _state,
}

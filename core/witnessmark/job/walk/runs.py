"""What the entries of runs add up to: armed, intended, ended, interrupted, looked at.

A job's state and an entry flow in, the state after it flows out. Rule that holds here: a run that did not complete
holds the job until a person has decided, and one whose end nobody knows until a person has looked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from witnessmark.clock import NS
from witnessmark.job.moment import clock
from witnessmark.job.walk.state import JobState, RunState
from witnessmark.journal import bodies
from witnessmark.journal.bodies import Body
from witnessmark.journal.entry import Entry

SHUT = "its nipple was shut"
"""Why a run that completed is decided on."""


def armed(state: JobState, entry: Entry, body: Body) -> JobState:
    """Take note of what was answered before arming."""
    assert isinstance(body, bodies.Armed)
    state = hold(state, entry, (one.id for one in state.procedure.questions if one.holds and body.answers.get(one.id)))
    return replace(state, armed=body, ready="")


def hold(state: JobState, entry: Entry, ids: Iterable[str]) -> JobState:
    """Take note of when questions were answered whose yes holds for a time."""
    return replace(state, held=tuple((dict(state.held) | dict.fromkeys(ids, entry.recorded)).items()))


def disarmed(state: JobState, entry: Entry, body: Body) -> JobState:
    """Take note that nothing is armed any more."""
    return replace(state, armed=None)


def intent(state: JobState, entry: Entry, body: Body) -> JobState:
    """Take note of a run that is about to be, or was heard or told to begin.

    The walk waits for it, but for one heard that is of no pass, or that came beside another.
    """
    assert isinstance(body, bodies.Intent)
    run = RunState(
        entry.seq,
        body.pass_id,
        body.wire_command,
        body.seconds,
        entry.recorded,
        first_use=body.first_use,
        grade=body.grade,
    )
    state = _as_it_begins(replace(state, runs=(*state.runs, run)), body.pass_id)
    if body.grade == "heard" and (not body.pass_id or state.open_intent is not None):
        return state
    return replace(state, armed=None, ready="", open_intent=entry.seq)


def _as_it_begins(state: JobState, pass_id: str) -> JobState:
    """Take only the nipples that stand open as a run begins as open for it: one shut again before it was not.

    One that comes while its pass is to be decided on takes nothing from the run before it.
    """
    if state.decide == pass_id:
        return state
    kept = (one for one in state.was_open if one[0] != pass_id or one[1] in state.open_nipples)
    return replace(state, was_open=frozenset(kept))


def outcome(state: JobState, entry: Entry, body: Body) -> JobState:
    """Go on after a run that completed; hold the job after any other that reached the vehicle."""
    assert isinstance(body, bodies.Outcome)
    never_ran = body.result == "refused" or (body.result == "stopped" and body.stop == "not sent")
    runs = tuple(
        replace(
            run,
            recorded=entry.recorded,
            begun=run.recorded,
            from_mono=_ns(body.from_mono),
            to_mono=_ns(body.to_mono),
            ended=True,
            result=body.result,
            stop=_stop(body, entry) if run.grade == "sent" else "",
            unseen=body.result == "unknown",
        )
        for run in state.runs
        if run.intent == body.actuation
    )
    others = tuple(run for run in state.runs if run.intent != body.actuation)
    waits = None if state.open_intent == body.actuation else state.open_intent
    state = replace(state, open_intent=waits, interrupted=False, runs=others if never_ran else (*others, *runs))
    if never_ran:
        return state
    if any(run.first_use for run in runs):
        state = replace(state, result_due=body.actuation)
    if body.result == "completed":
        return _completed(state, body.pass_id, runs)
    inspect = body.actuation if body.result == "unknown" else state.inspect  # one besides may still be looked at
    if not body.pass_id and any(run.grade == "heard" for run in runs):  # besides: what is owed of a pass stays owed
        return replace(state, inspect=inspect)
    why_due = body.result == "stopped" and not body.why and any(run.grade == "told" for run in runs)
    return replace(state, inspect=inspect, decide=body.pass_id or state.decide, why_due=why_due)


def _stop(body: bodies.Outcome, entry: Entry) -> str:
    """Return in words what an outcome says of the stop; empty where none was sent."""
    if body.stop == "confirmed":
        lasted = f", {int(body.duration_ns) / NS:.1f} s after its start" if body.duration_ns else ""
        why = f" What stopped it: {body.why.rstrip('.')}." if body.why else ""
        return f"The control unit confirmed its stop at {clock(entry.recorded.wall_ns)}{lasted}.{why}"
    return "" if body.stop == "not sent" else "The control unit did not confirm its stop."


def _completed(state: JobState, pass_id: str, runs: tuple[RunState, ...]) -> JobState:
    """Go on after the run, or pass over it later where it is still to come; one that is made again decides."""
    at_run = state.point is not None and (state.point.kind, state.point.pass_id) == ("run", pass_id)
    if not at_run:
        ahead = any((one.kind, one.pass_id) == ("run", pass_id) for one in state.points[state.cursor :])
        elsewhere = any(run.grade != "sent" for run in runs)
        if not ahead or not elsewhere:
            return state
        state = replace(state, ran_ahead=pass_id)
        return replace(state, decide=pass_id, done_not_right=SHUT) if _was_shut(state, pass_id) else state
    if state.decide == pass_id and _was_shut(state, pass_id):
        return replace(state, done_not_right=SHUT)
    return replace(state, decide="" if state.decide == pass_id else state.decide, cursor=state.cursor + 1)


def _was_shut(state: JobState, pass_id: str) -> bool:
    """Whether a nipple of a pass is shut as its run ends: nothing ran out of it."""
    one = state.pass_of(pass_id)
    return one is not None and len(state.open_in(one)) < len(one.nipples)


def interrupted(state: JobState, entry: Entry, body: Body) -> JobState:
    """Hold the job for a run whose program died."""
    assert isinstance(body, bodies.Interrupted)
    runs = tuple(
        replace(run, recorded=entry.recorded, ended=True, unseen=True) if run.intent == body.actuation else run
        for run in state.runs
    )
    tries = any(run.first_use and run.intent == body.actuation for run in runs)
    state = replace(state, result_due=body.actuation) if tries else state
    waits = None if state.open_intent == body.actuation else state.open_intent
    decide = body.pass_id or state.decide
    return replace(state, runs=runs, open_intent=waits, interrupted=True, inspect=body.actuation, decide=decide)


def moved(state: JobState, entry: Entry) -> JobState:
    """Let the entry by which a job came here stand for the run that something is owed for: entries here name it."""
    # The other bay's clocks are not ours: a motor rests from when the job came, and moments there are none here.
    came = tuple(
        replace(run, recorded=entry.recorded, from_mono=None, to_mono=None, unseen=False) for run in state.runs
    )
    # Nor are its first uses: its lead is not ours, and nothing was entered in this journal. What stands open came too.
    state = replace(state, runs=came, tried=(), worked_seq=entry.seq)
    owed = owed_for(state)
    if owed is None:
        return state
    ended = owed not in (state.open_intent, state.inspect)
    runs = tuple(replace(run, intent=entry.seq, ended=True) if run.intent == owed else run for run in state.runs)
    one = next((run for run in runs if run.intent == entry.seq), None)
    due = entry.seq if owed == state.result_due or (one is not None and one.first_use) else None
    state = replace(state, runs=runs, open_intent=None, result_due=due)
    if ended:
        return state
    decide = state.decide if one is None else one.pass_id
    return replace(state, interrupted=True, inspect=entry.seq, decide=decide)


def witnessed(state: JobState, grade: str) -> JobState:
    """Return the state in which runs are witnessed so until another way is said; as it was for no grade."""
    return next((replace(state, grade=one) for one in bodies.GRADES if one == grade), state)


def owed_for(state: JobState) -> int | None:
    """Return the intent of a run whose end nobody knows, or whose result is still to be told; None where none is."""
    return next((one for one in (state.open_intent, state.inspect, state.result_due) if one is not None), None)


def inspection(state: JobState, entry: Entry, body: Body) -> JobState:
    """Take note that a person looked: that it is at rest, or when it was not."""
    assert isinstance(body, bodies.Inspection)
    if body.actuation != state.inspect:
        return state
    if not body.safe:
        return replace(state, not_at_rest=(body.actuation, entry.recorded.wall_ns))
    runs = tuple(
        replace(run, recorded=entry.recorded, unseen=False) if run.intent == body.actuation else run
        for run in state.runs
    )
    others = [run.intent for run in runs if run.unseen]
    return replace(state, inspect=others[-1] if others else None, interrupted=bool(others), runs=runs)


def first_use(state: JobState, entry: Entry, body: Body) -> JobState:
    """Take note of what came of a first use."""
    assert isinstance(body, bodies.FirstUse)
    due = None if body.actuation == state.result_due else state.result_due
    return replace(state, tried=(*state.tried, body), result_due=due)


def _ns(text: str) -> int | None:
    return int(text) if text else None

"""What a touch at a nipple does: opened or closed, on a cue or late, and a run that a person tells of.

The view that stands and the key that was pressed flow in, an entry flows out.
"""

from __future__ import annotations

from witnessmark.job.keys import told_run
from witnessmark.job.keys.acts import Acts
from witnessmark.job.view import NOT_OPEN_KEY, View
from witnessmark.job.walk.resume import card_day_ns
from witnessmark.job.walk.state import LATER, MISSED, STAYS_OPEN, Cue, JobState, RunState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred


def nipple_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key at a nipple says."""
    state = runner.state
    nipple = view.nipples[0]
    asks = view.kind in ("open", "paused")
    cue = next((one for one in state.cued if one.nipple == nipple and asks), None)
    if cue is not None:
        _cue_key(runner, cue, key, by)
        return
    missed = view.kind == "open" and state.point is not None and state.point.closes
    if (missed and key == "n") or (view.kind == "close" and key == NOT_OPEN_KEY):
        runner.record.said(bodies.StepDone(step=MISSED, act="skipped", pass_id=view.pass_id, nipple=nipple), by=by)
        return
    if key == "l":
        later = bodies.StepDone(step=LATER, act="skipped", pass_id=view.pass_id, nipple=nipple, said=said)
        runner.record.said(later, by=by)
        return
    if view.kind == "close" and key == "n":
        stays = bodies.StepDone(step=STAYS_OPEN, act="confirmed", pass_id=view.pass_id, nipple=nipple)
        runner.record.said(stays, by=by)
        return
    opens = view.kind in ("open", "running", "heard", "told")
    body = bodies.StepDone(
        step="open" if opens else "close", act="opened" if opens else "closed", pass_id=view.pass_id, nipple=nipple
    )
    run = next((one for one in reversed(state.runs) if one.pass_id == view.pass_id), None)
    when = None
    if missed:  # told afterwards, so it is never of this moment
        since_ns = card_day_ns(state) if run is None else (run.begun or run.recorded).wall_ns
        when = (_while_it_ran(runner, run) if run is not None else None) or runner.record.since_wall(since_ns)
    if view.kind == "close" and key == "b":
        when = runner.record.since_wall(card_day_ns(state) if state.is_unsure(nipple) else state.left_wall_ns)
    runner.record.said(body, by=by, when=when)


def _while_it_ran(runner: Acts, run: RunState) -> Occurred | None:
    """Return the range of a run that has ended; of one that was told it lies between the two touches."""
    if run.from_mono is not None and run.to_mono is not None:
        return runner.record.between(run.from_mono, run.to_mono)
    if run.grade != "told" or run.begun is None or run.begun.boot_id != run.recorded.boot_id:
        return None
    return runner.record.between(run.begun.mono_ns, run.recorded.mono_ns)


def _cue_key(runner: Acts, cue: Cue, key: str, by: str) -> None:
    """Record what a person says was done on the cue; the time is the cue's, or from it to the end of the run."""
    if key == "n":
        missed = bodies.StepDone(step=MISSED, act="skipped", pass_id=cue.pass_id, nipple=cue.nipple)
        runner.record.said(missed, by=by)
        return
    on_cue, when = key == "y", cue.occurred
    if not on_cue:
        run = next((one for one in reversed(runner.state.runs) if one.pass_id == cue.pass_id), None)
        when = runner.record.from_cue(cue.occurred, run.to_mono if run is not None else None)
    said = "" if on_cue else "late"
    body = bodies.StepDone(step="open", act="opened", pass_id=cue.pass_id, nipple=cue.nipple, on_cue=on_cue, said=said)
    runner.record.said(body, by=by, when=when)


def told_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key says of a run that another tester makes."""
    run = runner.state.run_of(runner.state.open_intent)
    if key == "o" or run is None:
        nipple_key(runner, view, key, said, by)
    else:
        runner.record.said(told_run.ended(run, key, said), by=by)


def shut_here(state: JobState) -> tuple[str, ...]:
    """The nipples of the pass in hand that are shut."""
    one = state.pass_of(state.point.pass_id) if state.point else None
    return tuple(name for name in one.nipples if name not in state.open_nipples) if one else ()

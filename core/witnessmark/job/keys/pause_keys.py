"""What pausing writes, and what a touch on the paused screen does: shut, let off, left as it is, or on with the job.

The view that stands and the key that was pressed flow in, an entry flows out. Rule that holds here: a pause is taken
at once, whatever stands open; its entry says what did, with each touch before it that was on its way to the disk.
"""

from __future__ import annotations

from witnessmark.job.journal_thread import Ticket
from witnessmark.job.keys.acts import Acts
from witnessmark.job.keys.nipple_keys import nipple_key
from witnessmark.job.view import View
from witnessmark.job.walk.resume import lain
from witnessmark.job.walk.state import LEFT_BY_OTHERS, LEFT_OPEN, LET_OFF, PRESSURE_STAYS
from witnessmark.journal import bodies


def pause(runner: Acts, why: str, by: str) -> None:
    """Pause the job, with what stands open as it stands once all that was touched before is written."""

    def write(_: Ticket) -> None:
        state = runner.state
        body = bodies.State(state="paused", why=why, open_nipples=state.open_nipples, pressurised=state.pressurised)
        runner.record.said(body, by=by, when=when)

    when = runner.record.touch()
    runner.record.thread.call(lambda: None).then = write


def paused_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key on the paused screen says."""
    state = runner.state
    if key == "r":
        runner.record.said(bodies.State(state="open", why=said, again=lain(state, runner.record.now_ns())), by=by)
    elif state.cued:
        nipple_key(runner, view, key, said, by)
    elif key == "o":
        runner.record.said(bodies.StepDone(step=LET_OFF, act="done", affects="depressurise"), by=by)
    elif key == "n" and not view.nipples:
        runner.record.said(bodies.StepDone(step=PRESSURE_STAYS, act="confirmed"), by=by)
    elif key == "n":
        stays = bodies.StepDone(step=LEFT_OPEN, act="confirmed", pass_id=view.pass_id, nipple=view.nipples[0])
        runner.record.said(stays, by=by)
    else:
        shut = bodies.StepDone(step="close", act="closed", pass_id=view.pass_id, nipple=view.nipples[0])
        runner.record.said(shut, by=by)


def others_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record that what other jobs left open is closed and let off."""
    runner.record.said(bodies.StepDone(step=LEFT_BY_OTHERS, act="done", said=" ".join(runner.state.others)), by=by)

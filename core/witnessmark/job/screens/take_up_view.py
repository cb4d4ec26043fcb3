"""The view of a job that is taken up, before its link is tried: what may still run, and what stands open.

The job's state flows in, one view flows out. Rule that holds here: what stands in the record and can hurt is shown
before anything that takes time.
"""

from __future__ import annotations

from witnessmark.job.view import ELSEWHERE, UNKNOWN_ACT, View, title
from witnessmark.job.walk.standing import PRESSURE_ON, as_left, is_open, runs_perhaps, sentence
from witnessmark.job.walk.state import JobState

WAIT = "The job is taken up: wait."


def take_up_view(state: JobState) -> View:
    """Return the view that stands until the first of the runner comes."""
    stands = as_left(state)
    run = state.run_of(state.inspect) or next(iter(state.unended[::-1]), None)
    where = title(state, run.pass_id if run is not None else "")
    if runs_perhaps(state):
        elsewhere = f" {ELSEWHERE}" if run is not None and run.grade != "sent" else ""
        text = f"{UNKNOWN_ACT}{elsewhere} An actuation has no known end. {WAIT}"
        by_hand = state.procedure.physical_fallback
        return View(kind="inspect", id=WAIT, title=where, text=text, fallback=by_hand, stands=stands)
    opened = sentence(is_open(state, state.open_nipples)) or (PRESSURE_ON if state.pressurised else "")
    text = "\n".join((*stands, WAIT))
    return View(kind="busy", id=WAIT, title=where, text=text, stands=stands, opened=opened)

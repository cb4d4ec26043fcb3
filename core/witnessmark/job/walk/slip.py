"""A slip at the look at the reservoir: what was said of it last is taken back with one key, and it is looked at again.

A job's state flows in, the view with that key and the entry flow out. Rules that hold here: it is offered until
anything else is said of the vehicle, of a reservoir that was said to have run empty until it is decided what is done
again; what was said stays in the record; that it was filled up is no look, and has a key before it is recorded.
"""

from __future__ import annotations

import msgspec

from witnessmark.job.view import Button, View
from witnessmark.job.walk.state import AIR_DRAWN, LEVEL_LOOK, PUT_RIGHT, JobState
from witnessmark.journal import bodies

KEY = "b"
KINDS = ("step", "reading", "open", "close", "arm")
NOT_EMPTY = Button(KEY, "that was a slip: it did not run empty, look at it again")
SLIP = Button(KEY, "that was a slip: look at the reservoir again")


def beside(state: JobState, view: View) -> View:
    """Return the view with the key that takes back what was said of the reservoir, where that was said last."""
    last = state.level_said >= 0 and state.level_said == state.worked_seq
    asked = view.step == LEVEL_LOOK and bool(state.tank.doubt)
    taken = asked or any(one.key == KEY for one in view.buttons)
    if not last or taken or view.kind not in KINDS or state.air or state.decide:
        return view
    return msgspec.structs.replace(view, buttons=(*view.buttons, SLIP))


def taken_back(view: View) -> bodies.StepDone:
    """Return the entry that takes it back."""
    what = AIR_DRAWN if NOT_EMPTY in view.buttons else LEVEL_LOOK
    return bodies.StepDone(step=PUT_RIGHT, act="confirmed", pass_id=view.pass_id, answer=what, mended="said by a slip")

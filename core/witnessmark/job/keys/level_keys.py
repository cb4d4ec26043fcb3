"""What a touch says of the reservoir before a pass: its level, that it was filled up, or that it drew air.

The view that stands and the key that was pressed flow in, an entry flows out.
"""

from __future__ import annotations

from witnessmark.job.fluid.filling import NOT_YET
from witnessmark.job.fluid.tank import DRAWN, FILLED, SAID_FILLED
from witnessmark.job.keys.acts import Acts
from witnessmark.job.screens.level_view import FULL, OFF
from witnessmark.job.view import View
from witnessmark.job.walk.state import (
    AIR_ACCEPTED,
    AIR_DRAWN,
    EMPTY,
    LEVEL_LOOK,
    NOT_AGAIN,
    OFF_TO_FILL,
    PASSES_AGAIN,
    REFILL,
)
from witnessmark.journal import bodies


def level_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key says where the level is asked for."""
    if key == OFF.key:
        runner.record.said(let_off(), by=by)
        return
    if view.what == FILLED and key == NOT_YET:
        runner.filling.forget()
        return
    if view.what == FILLED:
        body = bodies.StepDone(step=SAID_FILLED, act="done", affects=REFILL, pass_id=view.pass_id)
    elif key == FULL.key:
        runner.filling.say(FILLED, runner.state)
        return
    elif key == "e":
        body = bodies.StepDone(step=AIR_DRAWN, act="done", affects=EMPTY, pass_id=view.pass_id)
    else:
        body = bodies.StepDone(step=LEVEL_LOOK, act="confirmed", pass_id=view.pass_id)
    runner.record.said(body, by=by)


def lid_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record that the feed is let off before its lid comes off, or that what that was for is not done after all."""
    point = runner.state.point
    if key == OFF.key:
        runner.record.said(let_off(), by=by)
    elif view.what == DRAWN:
        runner.filling.forget()
    elif point is not None and point.step is not None:
        left = bodies.StepDone(step=NOT_AGAIN, act="confirmed", pass_id=view.pass_id, answer=point.step.id)
        runner.record.said(left, by=by)


def let_off() -> bodies.StepDone:
    """Return the entry that says that the feed's pressure is let off, as a pause has it said."""
    return bodies.StepDone(step=OFF_TO_FILL, act="done", affects="depressurise")


def air_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record whether what was begun is done again after the reservoir ran empty, or that the feed is let off first."""
    if key == OFF.key:
        runner.record.said(let_off(), by=by)
        return
    again = key == "r"
    step = PASSES_AGAIN if again else AIR_ACCEPTED
    runner.record.said(bodies.StepDone(step=step, act="done" if again else "confirmed", said=said), by=by)

"""What a touch says of the reservoir before a pass: its level, that it was filled up, or that it drew air.

The view that stands and the key that was pressed flow in, an entry flows out.
"""

from __future__ import annotations

from witnessmark.job.keys.acts import Acts
from witnessmark.job.state import AIR_ACCEPTED, AIR_DRAWN, EMPTY, LEVEL_LOOK, PASSES_AGAIN, REFILL
from witnessmark.job.view import View
from witnessmark.journal import bodies


def level_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record what a key says where the level is asked for."""
    if key == "f":
        body = bodies.StepDone(step=f"said-{REFILL}", act="done", affects=REFILL, pass_id=view.pass_id)
    elif key == "e":
        body = bodies.StepDone(step=AIR_DRAWN, act="done", affects=EMPTY, pass_id=view.pass_id)
    else:
        body = bodies.StepDone(step=LEVEL_LOOK, act="confirmed", pass_id=view.pass_id)
    runner.record.said(body, by=by)


def air_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record whether what was begun is done again after the reservoir ran empty."""
    again = key == "r"
    step = PASSES_AGAIN if again else AIR_ACCEPTED
    runner.record.said(bodies.StepDone(step=step, act="done" if again else "confirmed", said=said), by=by)

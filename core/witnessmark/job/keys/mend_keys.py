"""What a key does where it is asked where something was mended: a key flows in, an entry flows out."""

from __future__ import annotations

from witnessmark.job.keys.acts import Acts
from witnessmark.job.screens.mend_view import NOBODY_KNOWS, NOWHERE, places
from witnessmark.job.view import View
from witnessmark.journal import bodies
from witnessmark.procedure.mending import MENDED_AT, NONE, NOT_KNOWN, TIGHTENED


def mend_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record where something was mended."""
    nipple, answer = "", {NOWHERE: NONE, NOBODY_KNOWS: NOT_KNOWN}.get(key, "")
    if key.isdigit():
        place, _ = places(runner.state)[int(key) - 1]
        nipple, answer = (place, "") if runner.state.mend == TIGHTENED else ("", place)
    runner.record.said(bodies.StepDone(step=MENDED_AT, act="confirmed", nipple=nipple, answer=answer), by=by)

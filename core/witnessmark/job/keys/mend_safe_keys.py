"""What a key does where a mend asks for a vehicle that is safe: a key flows in, an entry flows out."""

from __future__ import annotations

from witnessmark.job.amiss.mend_safe import NO, NOT_KNOWN, YES
from witnessmark.job.keys.acts import Acts
from witnessmark.job.view import View
from witnessmark.journal import bodies
from witnessmark.procedure.own import MAKE_SAFE, WAS_SAFE


def make_safe(runner: Acts, by: str) -> None:
    """Record that the vehicle is made safe before anything is mended."""
    runner.record.said(bodies.StepDone(step=MAKE_SAFE, act="confirmed"), by=by)


def was_safe_key(runner: Acts, view: View, key: str, said: str, by: str) -> None:
    """Record whether it was safe, as the person at the screen says."""
    answer = {"y": YES, "n": NO}.get(key, NOT_KNOWN)
    runner.record.said(bodies.StepDone(step=WAS_SAFE, act="confirmed", answer=answer), by=by)

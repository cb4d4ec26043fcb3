"""What the runner tells a face of a refusal, an error and an arming that is over: each flows in, a message flows out.

Rule that holds here: what is told of a nipple that stands open comes with what was not sent.
"""

from __future__ import annotations

from witnessmark.clock import NS
from witnessmark.errors import WitnessmarkError
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.sending.armed import holds_for_ns
from witnessmark.job.sending.run import Run
from witnessmark.job.walk.standing import is_open, sentence
from witnessmark.job.walk.state import JobState


def of_error(error: WitnessmarkError) -> dict[str, object]:
    """Return an error as a message."""
    return {"error": {"what": str(error), "hint": error.hint, "reached": error.reached}}


def of_refusal(refusal: Refusal, reached: str = "nothing") -> dict[str, object]:
    """Return a refusal as a message; `reached` is how much of it the vehicle may have heard."""
    said = {"what": refusal.why, "hint": refusal.hint, "reached": reached, "rule": refusal.rule}
    return {"error": said}


def reached_by(run: Run) -> str:
    """Return how much of a run that was refused may have reached the vehicle."""
    return "nothing" if run.intent is None or run.life.was not in ("starting", "running", "stopping") else "maybe"


def of_expiry(state: JobState) -> dict[str, object]:
    """Return that arming is over, and which nipple stands open meanwhile."""
    given = f"{holds_for_ns(state.procedure) // NS} s"
    stands = sentence(is_open(state, state.open_nipples))
    return {"said": f"Not started within {given}: not armed any more. Nothing was sent. {stands}".strip()}

"""With what a reading is read, and until when that is calibrated: a step flows in, words for the screen flow out.

Rule that holds here: an instrument whose date is not known, or is over, is said to be so before anything is read with
it; the reading is taken all the same and carries the date.
"""

from __future__ import annotations

from datetime import UTC, datetime

from witnessmark.clock import NS
from witnessmark.job.walk.state import JobState
from witnessmark.procedure.model import Step


def read_with(state: JobState, step: Step) -> str:
    """Return the instrument of a step and how long it is in date, on the day of the job's last entry; else nothing."""
    if not step.instrument:
        return ""
    until = dict(state.instruments).get(step.instrument, "")
    if not until:
        return f"{step.instrument}; nobody recorded until when it is calibrated"
    if until < datetime.fromtimestamp(state.last_wall_ns // NS, UTC).date().isoformat():
        return f"{step.instrument}, OUT OF CALIBRATION since {until}"
    return f"{step.instrument}, calibrated until {until}"

"""The view of trouble codes that are left after the work: the state and the step of its scan flow in, one view out."""

from __future__ import annotations

from witnessmark.job.reasons import CODES_STAY, SCANNED_AFTER
from witnessmark.job.view import Button, View
from witnessmark.job.walk.state import SCAN_AGAIN, JobState
from witnessmark.job.walk.steps import Point


def codes_view(state: JobState, point: Point) -> View:
    """Return the view that has codes decided on which the work does not set."""
    assert point.step is not None
    units: dict[str, list[str]] = {}
    for unit, code in state.codes:
        units.setdefault(unit or "control unit", []).append(code)
    found = "; ".join(f"{unit}: {', '.join(codes)}" for unit, codes in units.items())
    return View(
        kind="step",
        title=state.procedure.title,
        text=f"{point.step.text.rstrip('.')}. Left, and NOT set by the work: {found}. Put it right and scan again, or "
        "say why they stay: then it is not met.",
        caution=point.step.caution,
        step=SCAN_AGAIN,
        buttons=(
            Button("r", "scan again, and what was done", asks=True, reasons=tuple(SCANNED_AFTER)),
            Button("k", "they stay, and why", asks=True, reasons=CODES_STAY),
        ),
    )

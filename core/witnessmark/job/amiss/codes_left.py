"""Trouble codes after the work that the work itself does not set: they are decided on where they are read last.

A job's state and an entry flow in, the state after it flows out. Rules that hold here: what any control unit reports
counts; the walk stays at its last scan until it was scanned again without such a code, or it was said why they stay.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.job.walk.state import SCAN_AGAIN, JobState
from witnessmark.journal import bodies


def scanned(state: JobState, body: bodies.CodeScan) -> JobState:
    """Take note of what one control unit reported; the last of a scan is at its step."""
    own = state.procedure.codes_set_by_work
    others = tuple(one for one in state.codes if one[0] != body.control_unit)
    left = tuple((body.control_unit, code) for code in body.codes if body.when == "after" and code not in own)
    state = replace(state, codes=(*others, *left))
    point = state.point
    here = point is not None and point.step is not None and point.kind == "ask" and point.step.id == body.step
    scans = [one for one in state.points[state.cursor :] if one.step is not None and one.step.act == "scan"]
    due = bool(state.codes) and here and len(scans) == 1
    return replace(state, codes_due=body.step if due else "")


def note(state: JobState, body: bodies.StepDone) -> JobState:
    """Take note of a decision: it is scanned again, or the codes stay."""
    return replace(state, codes_due="") if state.codes_due and body.step in (SCAN_AGAIN, state.codes_due) else state

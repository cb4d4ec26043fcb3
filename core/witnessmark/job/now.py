"""The view of this moment: the job's state, what is running and the clock flow in, one view flows out."""

from __future__ import annotations

from witnessmark.clock import NS
from witnessmark.job import view as views
from witnessmark.job.bay import Bay
from witnessmark.job.moment import in_seconds
from witnessmark.job.rules import pressure_is_stale, rest_ns
from witnessmark.job.run import Run
from witnessmark.job.state import JobState
from witnessmark.job.view import View


def view_now(
    state: JobState,
    bay: Bay | None,
    run: Run | None,
    *,
    stopping: bool,
    unreadable: tuple[str, ...],
    unasked: str = "",
) -> View:
    """Return what to show now; `stopping` while a stop request outside a run is being repeated."""
    if run is not None:
        return views.run_view(state, run.one, run.life.state, run.shown)
    if stopping:
        return views.busy_view("Stop sent, not confirmed yet.")
    point = state.point
    arms = point is not None and (point.kind == "run" or views.opens_at_arming(state, point))
    one = state.pass_of(point.pass_id) if point is not None and arms else None
    stale = one is not None and bay is not None and pressure_is_stale(state, one, bay.clock.stamp(), bay.boot_id)
    return views.next_view(state, unreadable=unreadable, stale_pressure=stale, unasked=unasked)


def wait_text(state: JobState, bay: Bay | None, fresh: View) -> str:
    """Return how many seconds arming would still be refused, empty when it would not."""
    one = state.pass_of(fresh.pass_id) if fresh.kind == "arm" else None
    command = state.command_of(one) if one else None
    if one is None or command is None or bay is None:
        return ""
    left_ns = rest_ns(bay.request(state, one, command))
    return in_seconds(left_ns) if left_ns > 0 else ""


def progress(run: Run, now_ns: int) -> dict[str, object]:
    """Return how a run stands, for a face that shows it going on."""
    state = run.life.state
    shown: dict[str, object] = {"state": _WORDS.get(state, state), "of_s": str(run.run_s)}
    if run.from_ns is not None:
        shown["elapsed_s"] = f"{max(0, now_ns - run.from_ns) / NS:.1f}"
    return shown


_WORDS = {"stopping": "stop sent", "starting": "start sent", "cue": "counting"}

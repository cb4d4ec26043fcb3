"""How long the motor still rests: each run that may have warmed it, held against the rest that is asked after it.

A job's state and a moment flow in, ns flow out. Rules that hold here: the longest of procedure and map counts, and the
time the motor may be on within a window; the procedure's limits hold between runs that work the pump; runs of other
jobs of this bay count as well; where no clock tells how long ago a run ended, it counts from when this program came, so
that nothing rests too short.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from witnessmark.clock import NS, Stamp
from witnessmark.job.amount import seconds
from witnessmark.job.moment import since_ns
from witnessmark.job.walk.state import JobState, RunState
from witnessmark.procedure.model import Pass
from witnessmark.procedure.pump import works_pump


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment on this machine's clocks. `here_since_ns` is when this program came, on the monotonic clock."""

    now: Stamp
    boot_id: str
    here_since_ns: int


def rest_ns(state: JobState, at: Moment, command: str = "") -> int:
    """Return how many ns of rest are left at a moment before a run of a wire command (empty: any); 0 when none."""
    return _left_ns(state, (*state.runs_before, *state.runs), at, command)


def wait_ns(state: JobState, one: Pass, at: Moment) -> int:
    """Return how many ns are to be waited before the run of a pass: rest, and until its seconds fit into the window."""
    pump = state.procedure.pump
    left = rest_ns(state, at, one.wire_command)
    if pump is None or not pump.on_time or not pump.window or not works_pump(state.procedure, one.wire_command):
        return left
    over_ns = on_ns(state, at) + round(seconds(one.seconds) * NS) - round(seconds(pump.on_time) * NS)
    window_ns = round(seconds(pump.window) * NS)
    for ago, run in sorted(((ago_ns(run, at), run) for run in _within(state, at)), key=lambda each: -each[0]):
        if over_ns > 0:
            over_ns -= length_ns(state, run)
            left = max(left, window_ns - ago + 1)
    return left


def on_ns(state: JobState, at: Moment) -> int:
    """Return how many ns the pump was on within the procedure's window; 0 where it has none."""
    return sum(length_ns(state, run) for run in _within(state, at))


def length_ns(state: JobState, run: RunState) -> int:
    """Return how long a run took; where that is not known what was asked for, and else the longest that it may take."""
    if run.from_mono is not None and run.to_mono is not None:
        return run.to_mono - run.from_mono
    if run.seconds:
        return round(Decimal(run.seconds) * NS)
    known = {one.id: one.longest_s for one in (state.map.wire_commands if state.map else ())}
    return known.get(run.wire_command, max(known.values(), default=0)) * NS


def _within(state: JobState, at: Moment) -> list[RunState]:
    pump = state.procedure.pump
    window_ns = round(seconds(pump.window) * NS) if pump is not None and pump.window else -1
    runs = (run for run in (*state.runs_before, *state.runs) if works_pump(state.procedure, run.wire_command))
    return [run for run in runs if ago_ns(run, at) <= window_ns]


def lacking_ns(state: JobState, run: RunState) -> int:
    """Return how many ns of rest were left when a run of this job began that has not ended yet; 0 when none."""
    began = run.recorded
    at = Moment(Stamp(began.wall_ns, began.mono_ns, began.boot_ns), began.boot_id, began.mono_ns)
    return _left_ns(state, (*state.runs_before, *(one for one in state.runs if one is not run)), at, run.wire_command)


def rest_s(state: JobState, run: RunState, command: str = "") -> Decimal:
    """Return how many s of rest procedure and map ask after a run before one of a wire command (empty: any)."""
    known = {one.id: Decimal(one.cool_down_s) for one in (state.map.wire_commands if state.map else ())}
    # One of another job that this map does not name may have been any of them.
    rests = [known[run.wire_command]] if run.wire_command in known else list(known.values())
    pump = state.procedure.pump
    both = all(works_pump(state.procedure, name) for name in (run.wire_command, command))
    if pump is not None and pump.rest and both:
        rests.append(seconds(pump.rest))
    return max(rests, default=Decimal(0))


def ago_ns(run: RunState, at: Moment) -> int:
    """How long ago a run ended, at least. Where no clock tells, it counts from when this program came.

    Across a start of the machine only its wall clock could tell, which anybody may have set: no more counts than has
    passed since that start.
    """
    ago = since_ns(run.recorded, at.now, at.boot_id)
    if ago is None:
        return at.now.mono_ns - at.here_since_ns
    if run.recorded.boot_id == at.boot_id:
        return ago
    return min(ago, at.now.mono_ns if at.now.boot_ns is None else at.now.boot_ns)


def _left_ns(state: JobState, runs: Iterable[RunState], at: Moment, command: str) -> int:
    return max((round(rest_s(state, run, command) * NS) - ago_ns(run, at) for run in runs), default=0)

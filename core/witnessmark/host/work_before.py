"""What went before in a bay, in whatever job: a warm motor, an empty reservoir, another tester on the bus.

A journal and a job's state flow in, the state with what went before flows out. Rules that hold here: jobs of vehicles
that are known to be others leave nothing; where nobody typed a number the motor may be the same one, and rests; the
reservoir is another job's only where the number is the same, or the job follows that one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import reduce

from witnessmark.audit.assemble import HEARD_ELSEWHERE
from witnessmark.clock import NS, Stamp
from witnessmark.host.other_jobs import left_on
from witnessmark.job.fluid import reservoir
from witnessmark.job.heard.hearing import OTHER_TESTER
from witnessmark.job.moment import since_ns
from witnessmark.job.walk import runs
from witnessmark.job.walk.state import JobState, RunState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry, Recorded
from witnessmark.journal.store import JobLine, Journal
from witnessmark.journal.unfit import fitting
from witnessmark.mapping.measured_mistakes import REST_S
from witnessmark.procedure.plan import followed

MOST_JOBS = 50
"""So many jobs are looked back on, the one written to last first: more than a bay does in the longest rest."""
MOST_ENTRIES = 5000
"""So many entries are looked back on for another tester: more than are written in ten seconds."""
CHANGES = {
    "intent": runs.intent,
    "outcome": runs.outcome,
    "interrupted": runs.interrupted,
    "inspection": runs.inspection,
}


def with_work_before(journal: Journal, state: JobState, now: Stamp, boot_id: str) -> JobState:
    """Return the state with the runs and the reservoir that other jobs of this journal left."""
    mine = _first(journal, state.job)
    warm: list[RunState] = []
    said = state.reservoir_said if state.reservoir_said is not None else -1
    empty = state.reservoir_empty
    for line in journal.jobs()[: MOST_JOBS + 1]:
        same = None if line.job == state.job else _same_vehicle(mine, _first(journal, line.job), line.job)
        if line.job == state.job or same is False:
            continue
        if not _is_old(journal, line, now, boot_id):
            warm += _runs(journal, line.job, state)
        told = _reservoir(journal, line.job) if same else None
        if told is not None and told[0] > said:
            said, empty = told
    other_tester = _other_tester(journal, (*warm, *state.runs))
    others = left_on(journal, state.vehicle, mine, since=state.others_said)
    return replace(state, runs_before=tuple(warm), reservoir_empty=empty, other_tester=other_tester, others=others)


def _other_tester(journal: Journal, ran: tuple[RunState, ...]) -> Recorded | None:
    """Return when another tester was last recorded, by this job or another; the interface may be the same."""
    events = journal.entries(kind="event", after_seq=journal.size - MOST_ENTRIES)
    heard = [one.recorded for one in events if one.body.get("what") in (OTHER_TESTER, HEARD_ELSEWHERE)]
    asked = journal.entries(kind="intent", after_seq=journal.size - MOST_ENTRIES)  # also what was refused
    heard += [one.recorded for one in asked if one.body.get("grade") == "heard"]
    heard += [run.recorded for run in ran if run.grade == "heard"]
    return max(heard, key=lambda one: one.wall_ns, default=None)


def _first(journal: Journal, job: str) -> Entry:
    return next(journal.entries(job))


def _same_vehicle(mine: Entry, other: Entry, job: str) -> bool | None:
    """Whether another job was on the same vehicle; None where nobody typed its number."""
    if followed(str(mine.body.get("scope", ""))) == job:
        return True
    one, two = (str(entry.body.get("vehicle", {}).get("vin", "")).strip().upper() for entry in (mine, other))
    return one == two if one and two else None


def _is_old(journal: Journal, line: JobLine, now: Stamp, boot_id: str) -> bool:
    """Whether a job was last written to longer ago than any motor rests; one of whose age nothing is known is not."""
    last = next(journal.entries(line.job, after_seq=line.last_seq - 1))
    ago_ns = since_ns(last.recorded, now, boot_id)
    return last.recorded.boot_id == boot_id and ago_ns is not None and ago_ns > REST_S * NS


def _runs(journal: Journal, job: str, state: JobState) -> tuple[RunState, ...]:
    found = sorted((pair for kind in CHANGES for pair in _read(journal, job, kind)), key=lambda pair: pair[0].seq)
    blank = replace(state, runs=(), runs_before=())
    after = reduce(lambda so_far, pair: CHANGES[pair[0].kind](so_far, *pair), found, blank)
    return after.runs


def _reservoir(journal: Journal, job: str) -> tuple[int, bool] | None:
    """Return which entry of a job said last how the reservoir stands, and whether it is empty; None where none did."""
    last: tuple[int, bool] | None = None
    for kind in ("step", "reading"):
        for entry, body in _read(journal, job, kind):
            assert isinstance(body, bodies.StepDone | bodies.Reading)
            empty = reservoir.said_in(reservoir.words_of(body))
            if empty is not None and (last is None or entry.seq > last[0]):
                last = entry.seq, empty
    return last


def _read(journal: Journal, job: str, kind: str) -> Iterator[tuple[Entry, bodies.Body]]:
    """Yield the entries of another job with their bodies, but for those that do not fit their kind any more.

    That such a job cannot be read is said by `left_on` on its vehicle; it keeps no other vehicle's job from going on.
    """
    return fitting(journal.entries(job, kind=kind), kind)

"""What other jobs left on the same vehicle: nipples that stand open, a feed under pressure, work that is not finished.

A journal and a vehicle flow in, lines flow out. Rules that hold here: a vehicle is the same one where its number or its
plate is; where neither is typed nothing can be looked up, and that is said; what stands open is said first of all, with
the job that left it so; a job in which nothing was worked since it was said to be closed is not asked about again; a
job that is released says so of what was worked before its own last work, and of nothing since.
"""

from __future__ import annotations

from dataclasses import replace

from witnessmark.host.history import history
from witnessmark.job.fold import fold
from witnessmark.job.standing import standing
from witnessmark.job.state import JobState
from witnessmark.journal import finding, personal
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal
from witnessmark.procedure.plan import followed

UNFINISHED = ("open", "paused")
NOT_LOOKED_UP = "note: without --vin or --plate nobody can look up whether an earlier job left something open on it"


def left_on(journal: Journal, vin: str, mine: Entry, since: int) -> tuple[str, ...]:
    """Return what other jobs left standing on the vehicle of the job that `mine` opens.

    Passed over is what was written up to the entry `since`, and what the job it follows had left when this one was
    opened: that stands in its own first steps.
    """
    own = followed(str(mine.body.get("scope", ""))) if mine.body.get("earlier") else ""
    states = [one for one in _on(journal, vin, plate_of(journal, mine), mine.job or "") if one.job != mine.job]
    unsettled = _unsettled(states, since)
    return tuple(line for one in unsettled if one.job != own or one.worked_seq > mine.seq for line in _standing(one))


def warnings(journal: Journal, vin: str, plate: str = "") -> tuple[str, ...]:
    """Return what is said before another job is opened on this vehicle."""
    if not vin.strip() and not plate.strip():
        return (NOT_LOOKED_UP,) if journal.jobs() else ()
    states = _on(journal, vin, plate)
    left = tuple(f"STOP, before anything else: {line}" for one in _unsettled(states) for line in _standing(one))
    unfinished = ", ".join(f"{one.job} ({one.status})" for one in states if one.status in UNFINISHED)
    more = f"note: not finished on this vehicle: job {unfinished}. Go on with it, or abandon it."
    return (*left, more) if unfinished else left


def against(journal: Journal, job: str) -> tuple[str, ...]:
    """Return what other jobs left standing on the vehicle of `job`, whatever `job` itself says of its own end."""
    mine = next(iter(history(journal, job)))
    vin = str(mine.body.get("vehicle", {}).get("vin", ""))
    others = [one for one in _on(journal, vin, plate_of(journal, mine), job) if one.job != job]
    own = fold(history(journal, job))
    return tuple(
        line
        for one in _unsettled([*others, replace(own, status="finished")])
        for line in _standing(one)
        if one.job != job
    )


def still_open(journal: Journal, state: JobState, mine: Entry) -> tuple[str, ...]:
    """Return what a job left standing on its vehicle, nothing where another job has settled it since."""
    if not standing(state):
        return ()
    others = [one for one in _on(journal, state.vehicle, plate_of(journal, mine), state.job) if one.job != state.job]
    return standing(state) if state in _unsettled([*others, state]) else ()


def plate_of(journal: Journal, opened: Entry) -> str:
    """Return the plate with which a job was opened, empty for none, or one that was erased."""
    mark = opened.body.get("vehicle", {}).get("registration") or opened.body.get("registration")
    kept = personal.values_of(journal, opened.job or "").get(mark) if mark else None
    return str(kept.value) if kept is not None and kept.value != personal.CHANGED else ""


def _on(journal: Journal, vin: str, plate: str, job: str = "") -> list[JobState]:
    """Return where each job on a vehicle stands: with this number, this plate, or that follows `job`, or `job` it."""
    found = [*(finding.by_vin(journal, vin) if vin.strip() else ())]
    found += finding.by_registration(journal, plate) if plate.strip() else []
    found += _followed(journal, job) if job else []
    states = (fold(history(journal, one)) for one in dict.fromkeys(found))
    number = vin.strip().upper()
    return [one for one in states if not number or one.vehicle.strip().upper() in ("", number)]


def _unsettled(states: list[JobState], since: int = -1) -> list[JobState]:
    """Return those worked in since what others left was said to be closed, and since a released one's own last work."""
    released = [one.worked_seq for one in states if one.status == "released"]
    settled = max((since, *released, *(one.others_said for one in states)))
    own = {one.follows: one.followed_said for one in states}
    left = [one for one in states if one.status != "released"]
    return [one for one in left if one.worked_seq > max(settled, own.get(one.job, -1))]


def _followed(journal: Journal, job: str) -> list[str]:
    """Return the job that `job` comes back to, where this journal has it, and those that come back to `job`."""
    scopes = {one.job or "": followed(str(one.body.get("scope", ""))) for one in journal.entries(kind="job-opened")}
    back = scopes.get(job, "")
    return [*([back] if back in scopes else []), *(one for one, before in scopes.items() if before == job)]


def _standing(state: JobState) -> list[str]:
    return [f"Job {state.job} ({state.status}): {line}" for line in standing(state)]

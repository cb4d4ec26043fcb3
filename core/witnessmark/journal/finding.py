"""Finding a job again: by plate, by VIN, by the vehicle's name, by when it was opened, by who did work on it.

What a person knows flows in, job ids flow out, the latest first. Rules that hold here: each answer comes from an index,
so it takes a moment among ten thousand jobs, but for a name, for which each job is looked at; a plate that was erased
finds nothing.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from witnessmark.errors import JournalError
from witnessmark.journal import canonical, personal, tables
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import WORK
from witnessmark.journal.store import Journal

_OPENED = "SELECT job FROM entries INDEXED BY {index} WHERE kind = 'job-opened' AND {where} ORDER BY seq DESC"
"""The index is named, because the planner would rather walk all jobs in order than sort the few that it finds."""


def by_registration(journal: Journal, registration: str) -> list[str]:
    """Return the jobs of the vehicle with this plate, however it is spaced."""
    return personal.jobs_with(journal, "registration", registration)


def by_vin(journal: Journal, vin: str) -> list[str]:
    """Return the jobs that were opened for this VIN, those that came from another bay (few) first."""
    wanted = vin.strip().upper()
    where = "json_extract(text, '$.body.vehicle.vin') = ?"
    found = _jobs(journal, _OPENED.format(index="jobs_by_vin", where=where), wanted)
    return _moved(journal, lambda one: one.body.get("vehicle", {}).get("vin") == wanted) + found


def by_name(journal: Journal, name: str) -> list[str]:
    """Return the jobs whose vehicle the shop called so, those that came from another bay first."""
    where = (
        f"kind = 'job-opened' AND {tables.SOUGHT_BY_KIND} AND instr(text, ?) > 0"
        " AND json_extract(text, '$.body.vehicle.id') = ?"
    )
    query = f"SELECT job FROM entries WHERE {where} ORDER BY seq DESC"
    moved = _moved(journal, lambda one: one.body.get("vehicle", {}).get("id") == name)
    return moved + _jobs(journal, query, canonical.encode(name).decode(), name)


def by_time(journal: Journal, from_ns: int, to_ns: int) -> list[str]:
    """Return the jobs that were opened, or came here, from `from_ns` to before `to_ns`, in wall nanoseconds."""
    where = "json_extract(text, '$.recorded.wall') >= ? AND json_extract(text, '$.recorded.wall') < ?"
    found = _jobs(journal, _OPENED.format(index="jobs_by_time", where=where), f"{from_ns:019}", f"{to_ns:019}")
    return _moved(journal, lambda one: from_ns <= one.recorded.wall_ns < to_ns) + found


def worked_on(journal: Journal, actor: str) -> str | None:
    """Return the last job on which `actor`, however it is written, did work here. None: on none."""
    kinds = ", ".join(f"'{kind}'" for kind in WORK)
    where = f"kind IN ({kinds}) AND lower(json_extract(text, '$.done_by')) = lower(?)"
    return next(iter(_jobs(journal, f"SELECT job FROM entries WHERE {where} ORDER BY seq DESC LIMIT 1", actor)), None)


def _moved(journal: Journal, fits: Callable[[Entry], bool]) -> list[str]:
    """Return those of the jobs from other bays (few, so each is looked at) that fit, the latest first."""
    return [one.job for one in journal.entries(kind="moved") if one.job and fits(one)][::-1]


def _jobs(journal: Journal, query: str, *values: str) -> list[str]:
    try:
        return [job for (job,) in journal.connection.execute(query, values)]
    except sqlite3.Error as error:
        raise JournalError(f"the journal cannot be read: {error}", hint="run a check of the journal") from error

"""What other jobs left on the same vehicle: nipples that stand open, a feed under pressure, work that is not finished.

A journal and a vehicle flow in, lines flow out. Rules that hold here: a vehicle is the same one where its number or its
plate is; where the shop calls it the same and neither number nor plate says otherwise it may be, and each line says
that it was found by the name alone, which shuts no gate; what stands open is said first of all, with the job that left
it so; one whose record cannot be read is taken to have left everything open; a job in which nothing was worked since it
was said to be closed is not asked about again; a job that is released says so of what was worked before its own last
work, and of nothing since, nor of what has only the same name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

from witnessmark.errors import JournalError
from witnessmark.host.folded import folded as where_it_stands
from witnessmark.host.history import history
from witnessmark.job.walk.standing import as_left, standing
from witnessmark.job.walk.state import JobState
from witnessmark.journal import finding, personal
from witnessmark.journal.commitment import plain_form
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal
from witnessmark.procedure.plan import followed

UNFINISHED = ("open", "paused")
BY_NAME = "note: without --vin or --plate earlier jobs on it are found by its name alone, which two vehicles may have"
MOST_BY_NAME = 50
"""So many jobs of one name are looked back on, the last one opened first: a name may be used again and again."""
WHY_NOT = "it was altered, or a later version wrote it"
TAKEN_SO = "Take it that nipples stand open and the feed is under pressure, until you have looked at each."


Folded = Callable[[str], JobState | None]
"""Gives where a job stands, None for one that settles nothing: nobody need know it, or its record cannot be read."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A job whose record cannot be read, and `why`: it settles nothing, and was worked in up to its last entry."""

    job: str
    why: str
    worked_seq: int
    status: str = "nobody knows how it stands"
    vehicle: str = ""
    follows: str = ""
    followed_said: int = -1
    others_said: int = -1


@dataclass(frozen=True, slots=True)
class Found:
    """A job on the vehicle, as it stands; `by_name` where nothing but the vehicle's name says that it was on it."""

    state: JobState | Unread
    by_name: bool = False


@dataclass(frozen=True)
class Openings:
    """What the jobs of a journal were opened with, each read once: for who looks at many jobs of one journal."""

    journal: Journal
    _known: dict[str, tuple[str, str]] = field(default_factory=dict)

    @cached_property
    def follows(self) -> dict[str, str]:
        """The job that each job comes back to, empty for none."""
        opened = self.journal.entries(kind="job-opened")
        return {one.job or "": followed(str(one.body.get("scope", ""))) for one in opened}

    def vehicle(self, job: str) -> tuple[str, str]:
        """Return number and plate of the vehicle of a job, empty where they are not known."""
        if job not in self._known:
            opened = next(iter(history(self.journal, job)))
            plain = str(opened.body.get("vehicle", {}).get("vin", "")), plate_of(self.journal, opened)
            self._known[job] = plain_form(plain[0]), plain_form(plain[1])
        return self._known[job]


def left_on(journal: Journal, vin: str, mine: Entry, since: int) -> tuple[str, ...]:
    """Return what other jobs left standing on the vehicle of the job that `mine` opens.

    Passed over is what was written up to the entry `since`, and what the job it follows had left when this one was
    opened: that stands in its own first steps.
    """
    own = followed(str(mine.body.get("scope", ""))) if mine.body.get("earlier") else ""
    there = _on(journal, vin, plate_of(journal, mine), name_of(mine), mine.job or "")
    unsettled = _unsettled([one for one in there if one.state.job != mine.job], since)
    return tuple(
        line for one in unsettled if one.state.job != own or one.state.worked_seq > mine.seq for line in _standing(one)
    )


def warnings(journal: Journal, vin: str, plate: str = "", name: str = "") -> tuple[str, ...]:
    """Return what is said before another job is opened on this vehicle."""
    nameless = not vin.strip() and not plate.strip()
    weak = (BY_NAME,) if nameless and journal.jobs() else ()
    there = _on(journal, vin, plate, name)
    left = tuple(f"STOP, before anything else: {line}" for one in _unsettled(there) for line in _of(one, as_left))
    unfinished = ", ".join(
        f"{one.state.job} ({one.state.status}{', by its name' if one.by_name else ''})"
        for one in there
        if one.state.status in UNFINISHED
    )
    more = f"note: not finished on this vehicle: job {unfinished}. Go on with it, or abandon it."
    return (*left, *weak, *((more,) if unfinished else ()))


def against(journal: Journal, job: str) -> tuple[str, ...]:
    """Return what other jobs left standing on the vehicle of `job`, whatever `job` itself says of its own end."""
    mine = next(iter(history(journal, job)))
    vin = str(mine.body.get("vehicle", {}).get("vin", ""))
    others = [one for one in _on(journal, vin, plate_of(journal, mine), job=job) if one.state.job != job]
    own = Found(replace(where_it_stands(journal, job), status="finished"))
    return tuple(line for one in _unsettled([*others, own]) if one is not own for line in _standing(one))


def still_open(
    journal: Journal, state: JobState, mine: Entry, folded: Folded | None = None, opened: Openings | None = None
) -> tuple[str, ...]:
    """Return what is told of a job as it was left, nothing where another job has settled it since."""
    return as_left(state) if as_left(state) and not is_settled(journal, state, mine, folded, opened) else ()


def is_settled(
    journal: Journal, state: JobState, mine: Entry, folded: Folded | None = None, opened: Openings | None = None
) -> bool:
    """Say whether another job on the vehicle of the job that `mine` opens settled since what that one left open.

    `folded` gives where another job stands; it may give None for one that was not written in after the last work here,
    or cannot be read; `opened` keeps what was read of the others for the next question.
    """
    there = _on(journal, state.vehicle, plate_of(journal, mine), name_of(mine), state.job, folded, opened)
    own = Found(state)
    return own not in _unsettled([*(one for one in there if one.state.job != state.job), own])


def name_of(opened: Entry) -> str:
    """Return what the shop calls the vehicle of a job."""
    return str(opened.body.get("vehicle", {}).get("id", ""))


def plate_of(journal: Journal, opened: Entry) -> str:
    """Return the plate with which a job was opened, empty for none, or one that was erased."""
    mark = opened.body.get("vehicle", {}).get("registration") or opened.body.get("registration")
    kept = personal.values_of(journal, opened.job or "").get(mark) if mark else None
    return str(kept.value) if kept is not None and kept.value != personal.CHANGED else ""


def _on(
    journal: Journal,
    vin: str,
    plate: str,
    name: str = "",
    job: str = "",
    folded: Folded | None = None,
    opened: Openings | None = None,
) -> list[Found]:
    """Return where each job on a vehicle stands: with this number, this plate, or that follows `job`, or `job` it.

    Behind them those that have nothing but its `name`, where neither number nor plate says that it is another one.
    """
    opened = opened or Openings(journal)
    known = [*(finding.by_vin(journal, vin) if vin.strip() else ())]
    known += finding.by_registration(journal, plate) if plate.strip() else []
    known += _followed(opened, job) if job else []
    states = _states(journal, dict.fromkeys(known), folded)
    number = vin.strip().upper()
    there = [Found(one) for one in states if not number or one.vehicle.strip().upper() in ("", number)]
    named = finding.by_name(journal, name)[:MOST_BY_NAME] if name else []
    maybe = [one for one in named if one not in known and not _another(opened, one, vin, plate)]
    return there + [Found(one, by_name=True) for one in _states(journal, maybe, folded)]


def _states(journal: Journal, jobs: Iterable[str], folded: Folded | None) -> list[JobState | Unread]:
    states = (_state(journal, one) if folded is None else folded(one) for one in jobs)
    return [one for one in states if one is not None]


def _state(journal: Journal, job: str) -> JobState | Unread:
    try:
        return where_it_stands(journal, job)
    except JournalError as error:
        last = next(line.last_seq for line in journal.jobs() if line.job == job)
        return Unread(job, f"{error} ({WHY_NOT}). {TAKEN_SO}", last)


def _another(opened: Openings, job: str, vin: str, plate: str) -> bool:
    """Whether the number or the plate of a job's vehicle says that it is another one."""
    pairs = zip((plain_form(vin), plain_form(plate)), opened.vehicle(job), strict=True)
    return any(one != two for one, two in pairs if one and two)


def _unsettled(there: list[Found], since: int = -1) -> list[Found]:
    """Return those worked in since what others left was said to be closed, and since a released one's own last work."""
    released = [one.state.worked_seq for one in there if one.state.status == "released" and not one.by_name]
    settled = max((since, *released, *(one.state.others_said for one in there)))
    own = {one.state.follows: one.state.followed_said for one in there}
    left = [one for one in there if one.state.status != "released"]
    return [one for one in left if one.state.worked_seq > max(settled, own.get(one.state.job, -1))]


def _followed(opened: Openings, job: str) -> list[str]:
    """Return the job that `job` comes back to, where this journal has it, and those that come back to `job`."""
    back = opened.follows.get(job, "")
    return [*([back] if back in opened.follows else []), *(one for one, at in opened.follows.items() if at == job)]


def _standing(one: Found) -> list[str]:
    return _of(one, standing)


def _of(one: Found, told: Callable[[JobState], tuple[str, ...]]) -> list[str]:
    """Return what is `told` of a job, each line with the job and how it was found."""
    how = f"{one.state.status}{', found by the name alone: perhaps another vehicle' if one.by_name else ''}"
    lines = (one.state.why,) if isinstance(one.state, Unread) else told(one.state)
    return [f"Job {one.state.job} ({how}): {line}" for line in lines]

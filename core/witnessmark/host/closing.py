"""Ending a job without the bay's screen: finished, or abandoned with a reason.

A job's state flows in, one entry flows out. Rules that hold here: nothing is finished while a step is open, a nipple
stands open or a run is not looked at; a job that has ended ends no second time.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from witnessmark.errors import InputError, LocalError
from witnessmark.host.folded import check_here, folded
from witnessmark.host.shop import Shop
from witnessmark.job.amiss import unclear, unwritten
from witnessmark.job.amiss.bleeding import unbled
from witnessmark.job.fluid.container import gone_on_with
from witnessmark.job.walk.standing import named, spoken, standing, undecided
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.no_job import no_job
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person


def state_of(shop: Shop, job: str) -> JobState:
    """Return where a job stands. Raises InputError when there is no such job."""
    with shop.read() as journal:
        _check_there(journal, job)
        return folded(journal, job)


def _check_there(journal: Journal, job: str) -> None:
    """Raise InputError where the journal has no such job."""
    if not journal.job_head(job).count:
        raise no_job(job)


def left_standing(shop: Shop, job: str) -> tuple[str, ...]:
    """Return what stands open on the vehicle of a job, another fluid, or what is left unbled, in words.

    Raises as `state_of`.
    """
    state = state_of(shop, job)
    fluid = (gone_on_with(state),) if gone_on_with(state) else ()
    return (*standing(state), *fluid, *unbled(state))


def open_items(state: JobState) -> tuple[str, ...]:
    """Return what keeps a job from being finished, a line each."""
    found = [f"nipple {named(state, name)} stands open" for name in state.surely_open]
    found += [f"the card does not say that nipple {named(state, name)} was closed" for _, name in state.unsure]
    if state.inspect is not None or state.unended:
        found.append("an actuation has no known end and nobody has looked")
    if state.decide:
        found.append(f"pass {state.decide}: {undecided(state)} Do it again or accept it")
    on_card = unclear.undecided(state).items()
    found += [f"pass {one}: {why}. Do it again or accept it" for one, why in on_card if one != state.decide]
    if state.air:
        found.append("the reservoir ran empty: do the passes again, or say why not")
    found += [f"pass {one}: {unwritten.NOT_RUN}. Do it again or accept it" for one in unwritten.unrun(state)]
    if state.pressurised:
        found.append("the feed is under pressure")
    left = state.points[state.cursor :]
    return (*found, *(f"not done: {spoken(state, one)}" for one in left))


def finish(shop: Shop, job: str, by: Person, why: str = "") -> Entry:
    """Write that a job is finished. Raises LocalError listing what is open."""
    with _going(shop, job, "job close") as (journal, state):
        left = open_items(state)
        if left:
            lines = "\n".join(f"  {line}" for line in left[:MOST_LINES])
            more = f"\n  and {len(left) - MOST_LINES} more" if len(left) > MOST_LINES else ""
            raise LocalError(f"the job is not finished:\n{lines}{more}", hint=f"go on with `witnessmark job run {job}`")
        return _write(journal, job, by, bodies.State(state="finished", why=why))


def abandon(shop: Shop, job: str, by: Person, why: str) -> Entry:
    """Write that a job is given up. Raises InputError without a reason, LocalError when it has ended already."""
    if not why.strip():
        raise InputError("a job is not abandoned without a reason", place="--why", hint="say why")
    with _going(shop, job, "job abandon") as (journal, _):
        return _write(journal, job, by, bodies.State(state="abandoned", why=why.strip()))


MOST_LINES = 12


@contextmanager
def _going(shop: Shop, job: str, who: str) -> Iterator[tuple[Journal, JobState]]:
    """Open the journal for writing of a job that goes on, and tell where it stands while nobody else writes of it."""
    with shop.beside(job, who) as journal:
        _check_there(journal, job)
        check_here(journal, job)
        state = folded(journal, job)
        if state.status in ("abandoned", "finished", "released"):
            raise LocalError(f"the job is {state.status} already", hint="open a new one that follows it")
        yield journal, state


def _write(journal: Journal, job: str, by: Person, body: bodies.State) -> Entry:
    return journal.append(Draft("state", job, by.actor, body=bodies.to_body(body)))

"""Finding jobs by who worked on them, by what their audit leaves open, and by what is open since their release.

Entries or a job flow in, yes or findings flow out. Rule that holds here: only `not met` and `no proof` are open; a
question that is met or does not apply finds no job.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.host import dossier
from witnessmark.host.shop import Shop
from witnessmark.journal.check import Check
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import WORK
from witnessmark.people.person import Person
from witnessmark.report.released import since, spell

OPEN = ("not met", "no proof")


def worked_on(entries: Iterable[Entry], by: str) -> bool:
    """Say whether a person did or entered anything. Raises InputError for what is no person's id."""
    actor = Person(by).actor
    return any(actor in (one.done_by, one.entered_by) for one in entries)


def worked_at(entries: Iterable[Entry], by: str) -> bool:
    """Say whether a person, however the id is written, did work at the vehicle. Raises InputError for no id."""
    actor = Person(by).actor.casefold()
    return any(one.kind in WORK and one.done_by.casefold() == actor for one in entries)


def since_release(shop: Shop, entries: Sequence[Entry]) -> list[str]:
    """Return what is open of a released job since its release, by its entries; it is audited only where some follow."""
    states = [one for one in entries if one.kind == "state"]
    if not states or states[-1].body.get("state") != "released" or not states[-1].job:
        return []
    later = [one for one in entries if one.seq > states[-1].seq and (one.kind == "amendment" or one.kind in WORK)]
    if not later:
        return []
    found = dossier.of_job(shop, states[-1].job)
    return [spell(found.said(one)) for one in since(found.audited().audit)]


def released_with(entries: Sequence[Entry]) -> list[str]:
    """Return the questions that the release of a job accepted as open, each with its answer; none for any other job."""
    states = [one.body for one in entries if one.kind == "state"]
    held = states[-1].get("accepted") if states and states[-1].get("state") == "released" else ()
    return [str(one).partition(": ")[0] for one in held or ()]


def left_open(shop: Shop, job: str, what: str, checked: Check | None = None) -> list[Finding]:
    """Return the open findings of a job that `what` names: a number, an id, `not met` or `no proof`.

    `checked` is how the journal was found, where it was checked already. Raises InputError for a question that nobody
    asks.
    """
    found = dossier.of_job(shop, job)
    findings = [found.said(one) for one in found.audited(checked).audit.findings]
    if what in OPEN:
        return [one for one in findings if one.answer == what]
    named = [one for one in findings if what in (str(one.number), one.id)]
    if not named:
        known = ", ".join(one.id for one in findings)
        raise InputError(f"no question is called {what!r}", place="--finding", hint=f"not met, no proof, {known}")
    return [one for one in named if one.answer in OPEN]

"""Finding jobs by who worked on them, and by what their audit leaves open.

Entries or a job flow in, yes or findings flow out. Rule that holds here: only `not met` and `no proof` are open; a
question that is met or does not apply finds no job.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.journal.entry import Entry
from witnessmark.journal.kinds import WORK
from witnessmark.people.person import Person

OPEN = ("not met", "no proof")


def worked_on(entries: Iterable[Entry], by: str) -> bool:
    """Say whether a person did or entered anything. Raises InputError for what is no person's id."""
    actor = Person(by).actor
    return any(actor in (one.done_by, one.entered_by) for one in entries)


def worked_at(entries: Iterable[Entry], by: str) -> bool:
    """Say whether a person, however the id is written, did work at the vehicle. Raises InputError for no id."""
    actor = Person(by).actor.casefold()
    return any(one.kind in WORK and one.done_by.casefold() == actor for one in entries)


def left_open(findings: Sequence[Finding], what: str) -> list[Finding]:
    """Return the open ones of a job's findings that `what` names: a number, an id, `not met` or `no proof`.

    Raises InputError for a question that nobody asks.
    """
    if what in OPEN:
        return [one for one in findings if one.answer == what]
    named = [one for one in findings if what in (str(one.number), one.id)]
    if not named:
        known = ", ".join(one.id for one in findings)
        raise InputError(f"no question is called {what!r}", place="--finding", hint=f"not met, no proof, {known}")
    return [one for one in named if one.answer in OPEN]

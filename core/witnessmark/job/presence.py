"""Who is here: sign-on and sign-off entries flow in, the people who are signed on flow out."""

from __future__ import annotations

from collections.abc import Iterable

from witnessmark.clock import NS, Stamp
from witnessmark.job.moment import since_ns
from witnessmark.journal.entry import Entry

WORKING_DAY_S = 12 * 3600
"""A sign-on that is older says nothing of who is here now: a choice of this project, no source."""


def signed_on(entries: Iterable[Entry]) -> dict[str, Entry]:
    """Return who is signed on after all `entries`, by id: the sign-on entry that holds."""
    found: dict[str, Entry] = {}
    for entry in entries:
        id_ = entry.done_by.removeprefix("person:")
        if entry.kind == "sign-on":
            found.pop(id_, None)  # whoever signed on last stands last
            found[id_] = entry
        elif entry.kind == "sign-off":
            found.pop(id_, None)
    return found


def others_here(entries: Iterable[Entry], first: str, now: Stamp, boot_id: str) -> tuple[str, ...]:
    """Return the ids of the people beside `first` who signed on within a working day, the last first."""
    return tuple(
        id_
        for id_, entry in reversed(signed_on(entries).items())
        if id_ != first and _today(since_ns(entry.recorded, now, boot_id))
    )


def lead_here(entries: Iterable[Entry], now: Stamp, boot_id: str) -> str:
    """Return the id of a lead who signed on with the PIN within a working day and has not left; empty when none has."""
    for id_, entry in signed_on(entries).items():
        proven = entry.body.get("role") == "lead" and entry.body.get("proven") == "pin"
        if proven and _today(since_ns(entry.recorded, now, boot_id)):
            return id_
    return ""


def _today(ago_ns: int | None) -> bool:
    return ago_ns is not None and ago_ns <= WORKING_DAY_S * NS

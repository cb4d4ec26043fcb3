"""A correction: a later entry that says what is right, beside the one that stays.

Rules that hold here: the entry that is corrected is never touched, and every reader shows both; an amendment may itself
be amended; the reason, and what was personal data in the entry, is so here too; `OCCURRED` in its place of the body is
when it was instead, as `AT` says in words; what is `WITHDRAWN` counts as not keyed in. (21 CFR 11.10(e): a change shall
not obscure what was recorded before.)
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from witnessmark.errors import InputError
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal


def amend(journal: Journal, target: int, by: str, *, reason: str, instead: dict[str, Any]) -> Entry:
    """Record that entry `target` is corrected: `instead` gives the fields of its body that should read otherwise.

    Raises InputError when there is no such entry, it belongs to no job, or no reason is given.
    """
    entry = journal.entry(target)
    if entry.job is None:
        raise InputError(f"entry {target} belongs to no job", place="entry", hint="amend an entry of a job")
    if not reason.strip():
        raise InputError("no reason is given", place="reason", hint="say why the entry is corrected")
    body = {"instead": instead, "reason": reason, "target": target}
    return journal.append(Draft("amendment", entry.job, by, body=body, corrects=entry.kind))


def as_amended(entry: Entry, amendments: Iterable[Entry]) -> dict[str, Any]:
    """Return the body of `entry` as its amendments, in order, say it should read."""
    body = dict(entry.body)
    for one in amendments:
        body |= one.body.get("instead", {})
    return body

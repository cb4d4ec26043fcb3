"""Readings whose amount was corrected, and what was taken back: a job goes on from what was put right.

The entries of a job flow in and flow out, each reading with its amount as the corrections say, without what was taken
back. Rule that holds here: else nothing but an amount is followed, so that where the walk stood stays as it was;
whether it lay within its limits is as it was judged when it was read.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from witnessmark.journal.amendment import as_amended
from witnessmark.journal.entry import Entry, amendments, withdrawn


def amounts(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries, the readings among them with the amounts that they are corrected to."""
    made, back = amendments(entries), withdrawn(entries)
    return tuple(
        _corrected(one, made[one.seq]) if one.kind == "reading" and one.seq in made else one
        for one in entries
        if one.seq not in back
    )


def _corrected(entry: Entry, made: Sequence[Entry]) -> Entry:
    amount = as_amended(entry, made).get("amount")
    return msgspec.structs.replace(entry, body={**entry.body, "amount": amount})

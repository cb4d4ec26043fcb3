"""What readings say as they were corrected.

A case flows in, amounts by their entries flow out. Rule that holds here: a correction that cannot be read changes
nothing, for the audit names it.
"""

from __future__ import annotations

from collections.abc import Mapping

from witnessmark.audit.amended import as_corrected
from witnessmark.audit.assemble import body_of
from witnessmark.audit.case import Case
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.quantity import Quantity

Now = Mapping[int, Quantity]
"""The amount of each corrected reading by its `seq`."""


def read_now(case: Case) -> Now:
    """Return the amount of each reading that was corrected to another."""
    if not case.of_kind("amendment"):
        return {}
    found = {}
    for entry, first in zip(as_corrected(case.entries), case.entries, strict=True):
        was = None if entry is first else case.timeline.gauge(entry.seq)
        if was is None:
            continue
        try:
            body = body_of(entry)
        except InputError:
            continue
        if isinstance(body, bodies.Reading):
            now = Quantity(body.amount.value, body.amount.unit)
            if str(now) != str(was.amount):
                found[entry.seq] = now
    return found

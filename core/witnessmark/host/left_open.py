"""What the audit leaves open of a job before somebody finishes it: its questions not met or without proof, by name.

A job of the shop flows in, lines for the screen flow out. Rule that holds here: it is what would hold the release of
that job, of its own entries: what comes of the check of the whole journal is seen when it is released.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.audit.verdict import Finding
from witnessmark.host import dossier
from witnessmark.host.auditing import audit_parts
from witnessmark.host.releasing import gate_of
from witnessmark.host.shop import Shop

MOST = 8
"""How many questions of one answer are named: the rest are counted."""


def left_open(shop: Shop, job: str) -> tuple[str, ...]:
    """Return a line for each answer that leaves questions open; none where nothing is. Raises as `of_job`."""
    kept = dossier.of_job(shop, job)
    found = audit_parts(kept.parts, name=kept.name, policy=kept.policy, found=kept.verified)
    return lines(gate_of(found.audit).held)


def lines(held: tuple[Finding, ...]) -> tuple[str, ...]:
    """Return the questions by their answers, the first of each by number and name."""
    return tuple(_lines(held))


def _lines(held: tuple[Finding, ...]) -> Iterator[str]:
    for answer in ("not met", "no proof"):
        named = [f"{one.number} {one.title}" for one in held if one.answer == answer]
        more = f" And {len(named) - MOST} more." if len(named) > MOST else ""
        if named:
            yield f"{answer.capitalize()} so far: {' '.join(named[:MOST])}{more}"

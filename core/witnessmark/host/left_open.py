"""What the audit leaves open of a job before somebody finishes it: what nobody can accept, then questions by name.

A job of the shop flows in, lines for the screen flow out. Rule that holds here: it is what would hold the release of
that job, of its own entries and what other jobs left on the vehicle: what comes of the check of the whole journal is
seen when it is released.
"""

from __future__ import annotations

from collections.abc import Iterator

from witnessmark.host import dossier, other_jobs
from witnessmark.host.auditing import audit_parts
from witnessmark.host.releasing import Gate, gate_of, with_others
from witnessmark.host.shop import Shop

MOST = 8
"""How many questions of one answer are named: the rest are counted."""


def left_open(shop: Shop, job: str) -> tuple[str, ...]:
    """Return a line for all that nobody can accept and for each answer that leaves questions open. Raises as `of_job`.

    None where nothing is open.
    """
    with shop.read() as journal:
        left = other_jobs.against(journal, job)
    kept = dossier.of_job(shop, job)
    found = audit_parts(kept.parts, name=kept.name, policy=kept.policy, found=kept.verified)
    return tuple(map(str, kept.beside.say([*lines(with_others(gate_of(found.audit), left))])))


def lines(gate: Gate) -> Iterator[str]:
    """Yield what keeps the gate shut though the job be finished, then the questions by their answers, the first few."""
    yield from (f"Can be accepted by nobody: {one}" for one in gate.lasting)
    for answer in ("not met", "no proof"):
        named = [f"{one.number} {one.title}" for one in gate.held if one.answer == answer]
        more = f" And {len(named) - MOST} more." if len(named) > MOST else ""
        if named:
            yield f"{answer.capitalize()} so far: {' '.join(named[:MOST])}{more}"

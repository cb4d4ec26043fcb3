"""What was read outside its own limits where no question says so, because the procedure leaves that question out.

A case and the findings that a paper has whole flow in, lines flow out. Rules that hold here: of several readings of the
same thing the last decides, of a nipple's torque also over its passes; where it lies outside, all that did are named.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

from witnessmark.audit.case import Case
from witnessmark.audit.cited import spell
from witnessmark.audit.limits import band, inside
from witnessmark.audit.say import listing
from witnessmark.audit.timeline import VOLUMES, Gauge, by
from witnessmark.audit.verdict import Finding
from witnessmark.errors import InputError
from witnessmark.journal import bodies
from witnessmark.procedure.model import Limit


def outside(case: Case, told: Sequence[Finding]) -> list[str]:
    """Return a line for each thing whose last reading lies outside its limits, where none of `told` says it."""
    if not case.procedure.leaves_out:
        return []
    found = []
    for many in by(case.timeline.gauges, _thing).values():
        last, wrong = many[-1], [one for one in many if _is_outside(case, one)]
        if last not in wrong or any(last.seq in one.cites and str(last.amount) in one.text for one in told):
            continue
        where = [last.pass_id, case.nipple(last.nipple).name if last.nipple else "", last.what.replace("-", " ")]
        read, seqs = listing(str(one.amount) for one in wrong), spell(one.seq for one in wrong)
        found.append(f"{', '.join(one for one in where if one)}: {read}, asked {band(last.low, last.high)} ({seqs})")
    return found


def _thing(one: Gauge) -> Hashable:
    return one.what, one.step, "" if one.what == "torque" else one.pass_id, one.nipple


def _is_outside(case: Case, one: Gauge) -> bool:
    """Say whether a reading lies outside the limits it was read against; a bottle as it was told when it was read."""
    if not one.low and not one.high:
        return False
    body = case.bodies[one.seq]
    if one.what in VOLUMES and isinstance(body, bodies.Reading):
        return body.within is False
    try:
        return not inside(one.amount, Limit(low=one.low, high=one.high))
    except InputError:
        return True

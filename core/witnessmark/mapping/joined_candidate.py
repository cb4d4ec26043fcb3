"""Joining what two maps heard of one wire command: runs and refusals of both count, where the bytes are the same.

Two candidates of one control unit flow in, one flows out. Rules that hold here: start, stop and results are the same
bytes, or one of them did not hear a stop or results; what was heard twice is not counted twice, so two that share a run
are not joined; what keeps either from being sent keeps what they are together.
"""

from __future__ import annotations

from collections import Counter

import msgspec

from witnessmark.mapping.facts import Candidate, Evidence, Observed
from witnessmark.mapping.model import AddressPair
from witnessmark.mapping.never_sent import candidate_reasons


def joined(first: Candidate, second: Candidate, address: AddressPair) -> Candidate | None:
    """Return both as one; None where their bytes differ, or where they heard the same run."""
    same = first.start == second.start
    for one, other in ((first.stop, second.stop), (first.results, second.results)):
        same = same and (one == other or not one or not other)
    heard = {one.start_ns for one in first.runs} | set(first.refused_ns)
    again = {one.start_ns for one in second.runs} | set(second.refused_ns)
    if not same or heard & again:
        return None
    stop, results = first.stop or second.stop, first.results or second.results
    observed = _observed(first.observed, second.observed)
    never = candidate_reasons(first.start, stop, results, observed, address)
    return msgspec.structs.replace(
        first,
        stop=stop,
        results=results,
        observed=observed,
        runs=tuple(sorted((*first.runs, *second.runs), key=lambda one: int(one.start_ns))),
        refused_ns=tuple(sorted((*first.refused_ns, *second.refused_ns), key=int)),
        said=tuple(dict.fromkeys((*first.said, *second.said))),
        never=tuple(one.why for one in never),
        evidence=_evidence(first.evidence, second.evidence),
    )


def _observed(first: Observed, second: Observed) -> Observed:
    def known(name: str) -> list[int]:
        return [value for one in (first, second) if (value := getattr(one, name)) is not None]

    return Observed(
        runs=first.runs + second.runs,
        ended=first.ended + second.ended,
        shortest_ms=min(known("shortest_ms"), default=None),
        longest_ms=max(known("longest_ms"), default=None),
        seconds=tuple(sorted({*first.seconds, *second.seconds})),
        rest_ms=min(known("rest_ms"), default=None),
        refused_rest_ms=max(known("refused_rest_ms"), default=None),
        session=max(known("session"), default=None),
        functional=first.functional or second.functional,
        needs=tuple(sorted({*first.needs, *second.needs})),
        varied=tuple(dict.fromkeys((*first.varied, *second.varied))),
        refusals=dict(sorted((Counter(first.refusals) + Counter(second.refusals)).items())),
        pending_ms=max(first.pending_ms, second.pending_ms),
    )


def _evidence(first: Evidence, second: Evidence) -> Evidence:
    """Both counts over both times; a digest only where it is one recording's."""
    return msgspec.structs.replace(
        first,
        source=first.source if first.source == second.source else f"{first.source}; {second.source}",
        digest=first.digest if first.digest == second.digest else "",
        first_ns=min(filter(None, (first.first_ns, second.first_ns)), key=int, default=""),
        last_ns=max(filter(None, (first.last_ns, second.last_ns)), key=int, default=""),
        count=first.count + second.count,
    )

"""The latest moment at which a run that nobody saw end had ended.

Actuations with an open end flow in, the same with a bound flow out. Rule that holds here: what bounds an end is an
entry, and it is named: the control unit's own answer to a later stop, a person who looked and found it at rest, or the
next positive start at the same control unit; the earliest of them counts. Without any the end stays open.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import msgspec

from witnessmark.audit import say
from witnessmark.audit.range import FOREVER, Range, Span
from witnessmark.audit.timeline import Actuation, Latest

Peers = Mapping[int, Mapping[str, str]]
HOW = {
    "stop": "when the control unit confirmed a stop",
    "looked": "when a person looked and found it at rest",
    "next": "when the control unit took the next start",
}


def bounded(
    runs: Sequence[Actuation], unknown: Collection[int], seen: Sequence[tuple[int, Latest]], peers: Peers
) -> list[Actuation]:
    """Return the runs in their order, the open end of each in `unknown` closed at the latest moment an entry gives.

    `unknown` are the runs that were interrupted or whose outcome says so: a run whose outcome is only missing keeps its
    open end. `seen` names a run and an entry that bounds it; `peers` gives each run's control unit.
    """
    return [_bound(run, runs, seen, peers) if run.seq in unknown else run for run in runs]


def unseen(run: Actuation) -> bool:
    """Say whether it began and nobody saw it end."""
    return run.ran is not None and (run.latest is not None or run.ran.end.high >= FOREVER // 2)


def spell(run: Actuation) -> str:
    """Return what is known of an end that nobody saw, empty for one that was seen or for a run that never began."""
    if run.ran is None or not unseen(run):
        return ""
    lasted = run.ran.length()
    least = f"nobody saw it end; it ran at least {say.seconds(lasted.low)}"
    if not say.has_length(lasted.low):
        least = "nobody saw it end, and nothing shows how long it ran"
    if run.latest is None:
        return f"{least}, and no entry says by when it had ended"
    return (
        f"{least}, at the latest until entry {run.latest.seq}, {HOW[run.latest.how]}, "
        f"{say.seconds(lasted.high)} after its start"
    )


def _bound(run: Actuation, runs: Sequence[Actuation], seen: Sequence[tuple[int, Latest]], peers: Peers) -> Actuation:
    if run.ran is None or run.ran.end.high < FOREVER // 2:
        return run
    low = run.ran.end.low
    found = [one for seq, one in seen if seq == run.seq and one.at >= run.ran.start.high]
    found += [
        Latest(later.seq, "next", later.ran.start.high) for later in runs if later.ran and _same(run, later, peers)
    ]
    if not found:
        return run
    latest = min(found, key=lambda one: one.at)
    return msgspec.structs.replace(run, ran=Span(run.ran.start, Range(low, max(low, latest.at))), latest=latest)


def _same(run: Actuation, later: Actuation, peers: Peers) -> bool:
    """Say whether `later` was started after `run` at the same control unit; of a told run only its command says so."""
    if later.seq <= run.seq or peers[run.seq] != peers[later.seq]:
        return False
    return bool(peers[run.seq]) or run.wire_command == later.wire_command

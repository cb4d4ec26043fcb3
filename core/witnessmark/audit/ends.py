"""The latest moment at which a run that nobody saw end had ended.

Actuations with an open end flow in, the same with a bound flow out. Rule that holds here: what bounds an end is an
entry, and it is named: the control unit's own answer to a later stop, a person who looked and found it at rest, or the
next positive start at the same control unit; the earliest of them counts, and a person's word no sooner than the wire
allows: until S3 after the last sign of the session, or for the seconds that the start itself says. Without any the end
stays open.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import msgspec

from witnessmark.audit import say
from witnessmark.audit.latest import HOW, Latest
from witnessmark.audit.timeline import Actuation
from witnessmark.range import FOREVER, Range, Span

Peers = Mapping[int, Mapping[str, str]]


def bounded(
    runs: Sequence[Actuation],
    unknown: Collection[int],
    seen: Sequence[tuple[int, Latest]],
    peers: Peers,
    wire: Mapping[int, int],
) -> list[Actuation]:
    """Return the runs in their order, the open end of each in `unknown` closed at the latest moment an entry gives.

    `unknown` are the runs that were interrupted or whose outcome says so: a run whose outcome is only missing keeps its
    open end. `seen` names a run and an entry that bounds it; `peers` gives each run's control unit, `wire` until
    when the wire's own timing allows it to have run.
    """
    return [_bound(run, runs, seen, peers, wire) if run.seq in unknown else run for run in runs]


def allowed(run: Actuation, signs: Iterable[int], s3_ns: int, told_ns: int) -> int:
    """Return until when a run that began may have lasted by the wire alone.

    `signs` are when the session showed life; it lasts S3 after the last that came in time. `told_ns` is how long the
    start request has the control unit run by itself, 0 where it does not say.
    """
    assert run.ran is not None
    until = run.ran.end.low
    for sign in sorted(signs):
        until = sign if until < sign <= until + s3_ns else until
    return max(until + s3_ns, run.ran.start.high + told_ns)


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
    if doubted := doubt(run):
        return f"{least}; {doubted}"
    return (
        f"{least}, at the latest until entry {run.latest.seq}, {HOW[run.latest.how]}, "
        f"{say.seconds(lasted.high)} after its start"
    )


def doubt(run: Actuation) -> str:
    """Say whose word it is that a run was at rest sooner than the wire allows; empty where nobody's is."""
    return "" if run.ran is None or run.latest is None else run.latest.doubted(run.ran.start.low)


def _bound(
    run: Actuation, runs: Sequence[Actuation], seen: Sequence[tuple[int, Latest]], peers: Peers, wire: Mapping[int, int]
) -> Actuation:
    if run.ran is None or run.ran.end.high < FOREVER // 2:
        return run
    low = run.ran.end.low
    until = wire.get(run.seq, low)
    found = [one.allowing(until) for seq, one in seen if seq == run.seq and one.at >= run.ran.start.high]
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

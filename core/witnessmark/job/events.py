"""What the link says by itself, written down, but no flood of it."""

from __future__ import annotations

from witnessmark.clock import NS, Clock
from witnessmark.job.record import Record, hexed
from witnessmark.journal.bodies import LinkEvent

SAME_AGAIN_S = 10


class Events:
    """Writes link events; the same kind again only after a while, so that a chattering bus fills no journal."""

    def __init__(self, record: Record, clock: Clock) -> None:
        self._record = record
        self._clock = clock
        self._written_ns: dict[str, int] = {}

    def write(
        self,
        what: str,
        detail: str,
        raw: bytes,
        actuation: int | None,
        *,
        always: bool = False,
        since_ns: int | None = None,
    ) -> None:
        """Record one event, of the actuation that is live if there is one; one that lasts is from `since_ns` on."""
        now_ns = self._clock.mono_ns()
        last_ns = self._written_ns.get(what)
        if always or last_ns is None or now_ns - last_ns >= SAME_AGAIN_S * NS:
            self._written_ns[what] = now_ns
            body = LinkEvent(what=what, detail=detail, raw=hexed(raw), actuation=actuation)
            self._record.seen(body, None if since_ns is None else self._record.lasted(since_ns))

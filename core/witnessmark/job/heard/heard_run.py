"""One run that another tester makes, from its start as it was heard to what came of it, and what is written of it.

`Heard` acts flow in, bodies of entries flow out through a record. Rules that hold here: what is to be written waits
until the run's intent has its number; a run that is not the one of the pass in hand is of no pass and of no nipple, so
that nothing is taken as done by it, and what it did all the same is in the record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from witnessmark.clock import NS, Clock
from witnessmark.job.amount import written_s
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.record import Record, hexed, peer_text
from witnessmark.job.view import ELSEWHERE
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred, occurred
from witnessmark.link.frame import Peer
from witnessmark.mapping.ear import TESTER_PRESENT, Heard
from witnessmark.procedure.model import Pass

END_MARGIN_NS = 3 * NS
"""How long after the map's longest run an end that was not heard is given up: a unit's grace, a late tester. Common
practice, no source."""
KEPT = 4096
"""Of so many moments it is kept how late each may have been read; of all before only the most that any of them was."""


class Lateness:
    """How long before it was read a frame may have come: since the last look that found nothing waiting.

    What an interface itself holds back is not in it. A link whose stamps are those of the arrival is never late. Only
    the latest moments are kept: an older one may have been as late as the latest of those that are not.
    """

    def __init__(self, now_ns: int, *, arrived: bool) -> None:
        self._arrived = arrived
        self._empty_ns = now_ns
        self._late: dict[int, int] = {}
        self._dropped_to_ns, self._dropped_late_ns = -1, 0

    def empty(self, began_ns: int) -> None:
        """Take note of a look that began at `began_ns` and found nothing."""
        self._empty_ns = began_ns

    def found(self, stamps: Iterable[int]) -> None:
        """Take note of the stamps (ns) of what a look found."""
        if self._arrived:
            return
        for at_ns in stamps:
            self._late[at_ns] = max(0, at_ns - self._empty_ns)
        while len(self._late) > KEPT:
            at_ns = next(iter(self._late))
            self._dropped_to_ns = max(self._dropped_to_ns, at_ns)
            self._dropped_late_ns = max(self._dropped_late_ns, self._late.pop(at_ns))

    def of(self, at_ns: int) -> int:
        """Return how late (ns) what was stamped so may have been read."""
        return self._late.get(at_ns, self._dropped_late_ns if at_ns <= self._dropped_to_ns else 0)


class HeardWriter:
    """Writes what was heard of one control unit into the record of one job."""

    def __init__(self, record: Record, clock: Clock, peer: Peer, late: Lateness) -> None:
        self.record = record
        self._clock = clock
        self._peer = peer
        self._late = late

    def intent(self, run: HeardRun, heard: Heard, map_digest: str) -> None:
        """Write that it was asked for."""
        run.from_late_ns = self._late.of(run.from_ns)
        body = bodies.Intent(
            pass_id=run.pass_id,
            nipples=run.one.nipples if run.one is not None else (),
            wire_command=heard.command.id,
            seconds=run.asked_s if heard.seconds is None else str(heard.seconds),
            start=hexed(heard.request.payload),
            stop=heard.command.stop,
            peer=peer_text(self._peer),
            grade="heard",
            map_digest=map_digest,
            learned=heard.command.origin == "learned",
        )
        self.record.seen(body, self.when(heard.at_ns)).then = run.known

    def exchange(self, heard: Heard, run: HeardRun) -> None:
        """Write a start or a stop of a run with its answers."""
        run.write(lambda seq: self.record.seen(self.body(heard, seq, run.pass_id), self.when(heard.at_ns)))

    def outcome(
        self, run: HeardRun, result: str, stop: str, why: str, to_ns: int | None, code: int | None = None
    ) -> None:
        """Write what came of a run; `to_ns` is None where its end was not heard."""
        times: dict[str, str] = {}
        if result != "refused":
            times |= {"from_mono": str(run.from_ns), "from_late_ns": _text(run.from_late_ns)}
        if to_ns is not None:
            times |= {"to_mono": str(to_ns), "duration_ns": str(to_ns - run.from_ns)}
            times["to_late_ns"] = _text(self._late.of(to_ns))
        run.write(
            lambda seq: self.record.seen(
                bodies.Outcome(
                    actuation=seq,
                    pass_id=run.pass_id,
                    result=result,  # type: ignore[arg-type]
                    stop=stop,  # type: ignore[arg-type]
                    why=why,
                    code="" if code is None else f"{code:02X}",
                    next_act=ELSEWHERE if result == "unknown" else "",
                    **times,
                )
            )
        )

    def kept_alive(self, run: HeardRun, heard: Sequence[tuple[int, bytes]], end_ns: int) -> None:
        """Write what was heard to keep the session of a run, up to its stop; nothing where nothing was heard."""
        signs = [(at_ns, payload) for at_ns, payload in heard if run.from_ns < at_ns < end_ns]
        if not signs:
            return
        edges = (run.from_ns, *(at_ns for at_ns, _ in signs), end_ns)
        request = next((payload for _, payload in signs if payload[0] == TESTER_PRESENT), signs[0][1])
        run.write(
            lambda seq: self.record.seen(
                bodies.KeepAlive(
                    actuation=seq,
                    request=hexed(request),
                    count=len(signs),
                    largest_gap_ns=str(max(after - before for before, after in pairwise(edges))),
                    at_mono=tuple(str(at_ns) for at_ns, _ in signs),
                )
            )
        )

    def body(self, heard: Heard, actuation: int | None = None, pass_id: str = "") -> bodies.ExchangeBody:
        """Return the body of a request that was heard, and of all that answered it."""
        verdicts = ["pending"] * len(heard.answers)
        if heard.result in ("positive", "negative"):
            verdicts[-1] = heard.result
        source = f"{self._peer.source:X}" if self._peer.source is not None else ""
        return bodies.ExchangeBody(
            purpose=heard.act,
            request=hexed(heard.request.payload),
            peer=peer_text(self._peer),
            sent_mono=str(heard.request.last_ns),
            sent_wall=str(self.wall_ns(heard.request.last_ns)),
            result=heard.result or "silence",
            answers=tuple(
                bodies.Answer(
                    source=source,
                    payload=hexed(one.payload),
                    verdict=verdict,  # type: ignore[arg-type]
                    first_mono=str(one.first_ns),
                    last_mono=str(one.last_ns),
                    raw=tuple(hexed(raw) for raw in one.frames),
                    late_ns=_text(self._late.of(one.last_ns)),
                )
                for one, verdict in zip(heard.answers, verdicts, strict=True)
            ),
            code="" if heard.code is None else f"{heard.code:02X}",
            raw=tuple(hexed(raw) for raw in heard.request.frames),
            actuation=actuation,
            pass_id=pass_id,
            heard=True,
        )

    def when(self, mono_ns: int) -> Occurred:
        """Return a monotonic moment as entries say when."""
        return occurred(self.wall_ns(mono_ns))

    def wall_ns(self, mono_ns: int) -> int:
        now = self._clock.stamp()
        return now.wall_ns - max(0, now.mono_ns - mono_ns)


class HeardRun:
    """One run that is heard, from its answered start on. `one` is None for a run of no pass."""

    def __init__(self, heard: Heard, one: Pass | None) -> None:
        self.command = heard.command
        self.one = one
        self.from_ns = heard.at_ns
        self.from_late_ns = 0
        self.intent: int | None = None
        self._waiting: list[Callable[[int], object]] = []

    @property
    def pass_id(self) -> str:
        return self.one.id if self.one is not None else ""

    @property
    def asked_s(self) -> str:
        """How many seconds its pass asks for, as text; empty for a run of no pass."""
        return written_s(self.one.seconds) if self.one is not None else ""

    @property
    def give_up_ns(self) -> int:
        """When its end counts as not heard."""
        return self.from_ns + self.command.longest_s * NS + END_MARGIN_NS

    def write(self, act: Callable[[int], object]) -> None:
        """Write something of this run, once its intent has its number."""
        if self.intent is None:
            self._waiting.append(act)
        else:
            act(self.intent)

    def known(self, ticket: Ticket) -> None:
        """Take the number of its intent, and write what waited for it."""
        assert ticket.entry is not None
        self.intent = ticket.entry.seq
        for act in self._waiting:
            act(self.intent)
        self._waiting.clear()


def _text(late_ns: int) -> str:
    return str(late_ns) if late_ns else ""

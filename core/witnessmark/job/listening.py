"""Runs that another tester makes, heard on a link that only listens: each is timed from the wire and tied to its pass.

Frames flow in, entries of grade `heard` flow out. Rules that hold here: the link must promise to listen in silence,
nothing is ever sent on it and there is no stop of ours; a run belongs to the pass in hand only when it is that pass's
wire command; it begins and ends with the control unit's own positive answers, and one whose end is not heard, for
whatever reason, is unknown and is looked at.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise

from witnessmark.clock import NS, Clock
from witnessmark.errors import LinkError, LocalError
from witnessmark.job.amount import seconds
from witnessmark.job.bay import Tell, peer_of
from witnessmark.job.events import Events
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.record import Record, hexed, peer_text
from witnessmark.job.state import JobState
from witnessmark.job.view import ELSEWHERE
from witnessmark.journal import bodies
from witnessmark.journal.entry import Occurred, occurred
from witnessmark.link.frame import Event, Frame
from witnessmark.link.port import FrameLink, MessageLink
from witnessmark.mapping.ear import TESTER_PRESENT, Ear, Heard
from witnessmark.mapping.model import ProtocolMap
from witnessmark.procedure.model import Pass
from witnessmark.wire.uds.codes import nrc_name

HEARD_ELSEWHERE = "heard elsewhere"
END_MARGIN_NS = 3 * NS
"""How long after the map's longest run an end that was not heard is given up: a unit's grace, a late tester. Common
practice, no source."""

AGAIN = "Put right what it names, then start it again on the other tester."


def require_silent(link: FrameLink | MessageLink) -> FrameLink:
    """Return the link, or raise LocalError when it does not promise to listen in silence, or shows no frames."""
    if isinstance(link, MessageLink):  # it has all that a FrameLink has, and more
        raise LocalError(
            "this interface shows whole messages, not what others say on the bus",
            hint="listen with an interface that carries frames, or run the job with --grade told",
        )
    if link.capabilities.listen != "silent" or link.capabilities.can_send:
        raise LocalError(
            "this interface does not promise to listen without a trace on the bus",
            hint="use one that has a silent mode, or run the job with --grade told",
        )
    return link


def listen(
    open_link: Callable[[], FrameLink | MessageLink],
    known: ProtocolMap | None,
    record: Record,
    clock: Clock,
    tell: Tell,
) -> Listening:
    """Open a link that only listens. Raises LocalError without a map to recognise runs by, or without such a link."""
    if known is None:
        raise LocalError("there is no map to recognise a run by", hint="run the job with --grade told")
    link = open_link()
    try:
        return Listening(require_silent(link), known, record, clock, tell)
    except LocalError:
        link.close()
        raise


class _Run:
    """One run that is heard. What is to be written waits until its intent has its number."""

    def __init__(self, heard: Heard, one: Pass) -> None:
        self.command = heard.command
        self.one = one
        self.from_ns = heard.at_ns
        self.intent: int | None = None
        self.waiting: list[Callable[[int], None]] = []

    def write(self, act: Callable[[int], None]) -> None:
        if self.intent is None:
            self.waiting.append(act)
        else:
            act(self.intent)

    def known(self, ticket: Ticket) -> None:
        assert ticket.entry is not None
        self.intent = ticket.entry.seq
        for act in self.waiting:
            act(self.intent)
        self.waiting.clear()


class Listening:
    """One link that only listens, during one job. `failure` is why it is lost."""

    def __init__(self, link: FrameLink, known: ProtocolMap, record: Record, clock: Clock, tell: Tell) -> None:
        self.link = link
        self.failure: LinkError | None = None
        self._peer = peer_of(known)
        self._ear = Ear(known)
        self._record = record
        self._clock = clock
        self._tell = tell
        self._events = Events(record, clock)
        self._run: _Run | None = None
        self._lost = 0

    @property
    def running(self) -> bool:
        """Whether a run was heard to begin and not to end."""
        return self._run is not None

    def pump(self, state: JobState) -> None:
        """Receive what has come, let time pass, and write what it shows."""
        for one in self._receive():
            if isinstance(one, Event):
                self._event(one)
            else:
                for heard in self._ear.feed(one):
                    self._take(heard, state)
        if self._ear.lost > self._lost:
            self._lost = self._ear.lost
            self._events.write("garbled", "a message of which frames were not heard", b"", None)
        now_ns = self._clock.mono_ns()
        for heard in self._ear.tick(now_ns):
            self._take(heard, state)
        run = self._run
        if run is not None and now_ns >= self._give_up_ns(run):
            self.give_up("its end was not heard")
        if self._run is None:
            self._ear.signs.clear()

    def give_up(self, why: str) -> None:
        """Nobody will hear the end of the run that is heard, if there is one: write that it is unknown."""
        run, self._run = self._run, None
        if run is None:
            return
        self._outcome(run, "unknown", "unknown", why, None)
        self._tell({"run": {"state": "unknown", "result": "unknown", "of_s": _number(run.one)}})
        self._tell({"error": {"what": why, "hint": ELSEWHERE, "reached": "nothing"}})

    def progress(self, now_ns: int) -> dict[str, object] | None:
        """Return how the run that is heard stands; None when there is none."""
        run = self._run
        if run is None:
            return None
        elapsed_s = max(0, now_ns - run.from_ns) / NS
        return {"state": "heard running", "of_s": _number(run.one), "elapsed_s": f"{elapsed_s:.1f}"}

    def deadline_ns(self) -> int | None:
        """When `pump` next has something to do by itself."""
        moments = [self._ear.deadline_ns(), self._give_up_ns(self._run) if self._run is not None else None]
        return min((one for one in moments if one is not None), default=None)

    def close(self) -> None:
        """Give the link back. A plugin that breaks over it is recorded and told: nothing else depends on it."""
        try:
            self.link.close()
        except LinkError as error:
            self._events.write("plugin broke", str(error), b"", None, always=True)
            self._tell({"error": {"what": str(error), "hint": error.hint, "reached": error.reached}})

    # What was heard.

    def _receive(self) -> list[Frame | Event]:
        if self.failure is not None:
            return []
        try:
            return list(self.link.receive(0.0))
        except LinkError as error:
            self._fail(error)
            return []

    def _event(self, event: Event) -> None:
        if event.kind == "lost":
            self._fail(LinkError(event.detail or "the interface is gone", kind="gone", hint="check plug and cable"))
        elif event.kind not in ("accepted", "begun"):
            self._events.write(event.kind, event.detail, event.raw, self._run.intent if self._run else None)

    def _fail(self, error: LinkError) -> None:
        self.failure = error
        self._events.write("lost", str(error), b"", None, always=True)
        self._tell({"error": {"what": f"the link is lost: {error}", "hint": error.hint, "reached": "nothing"}})
        self.give_up("the link was lost while it ran")

    def _take(self, heard: Heard, state: JobState) -> None:
        if heard.act == "clear":
            self._cleared(heard)
        elif heard.act == "start":
            self._start(heard, state)
        elif self._run is not None and self._run.command is heard.command:
            self._stop(heard, self._run)

    def _cleared(self, heard: Heard) -> None:
        """Another tester asked for the trouble codes to be cleared: that belongs to the job, to no run of it."""
        self._record.seen(self._exchange_body(heard), self._when(heard.at_ns))
        if heard.result == "positive":
            self._tell({"said": "another tester cleared the trouble codes: scan them again"})

    def _start(self, heard: Heard, state: JobState) -> None:
        one = _pass_in_hand(heard, state)
        if one is None or (self._run is None and state.open_intent is not None):
            name = heard.command.id
            self._events.write(
                HEARD_ELSEWHERE, f"{name}, not of the pass in hand", heard.request.payload, None, always=True
            )
            self._tell({"said": f"another tester asked for {name}, which is not this pass's"})
            return
        if self._run is not None and heard.result != "negative":
            self.give_up("it was started again before its end was heard")
        run = _Run(heard, one)
        self._record.seen(self._intent(heard, one, state), self._when(heard.at_ns)).then = run.known
        run.write(lambda seq: self._exchange(heard, run, seq))
        if heard.result == "positive":
            self._run = run
            self._ear.signs.clear()
            self._tell({"said": f"{heard.command.id} is heard running: stop it on the other tester"})
        elif heard.result == "negative":
            why = f"the control unit refused the other tester: {heard.code:02X} {nrc_name(heard.code or 0)}"
            self._outcome(run, "refused", "not sent", "the control unit refused the other tester", None, heard.code)
            self._tell(
                {"error": {"what": f"{heard.command.id} did not start: {why}", "hint": AGAIN, "reached": "nothing"}}
            )
        else:
            why = "no answer to the other tester's start was heard"
            self._outcome(run, "unknown", "unknown", why, None)
            self._tell({"error": {"what": why, "hint": ELSEWHERE, "reached": "nothing"}})

    def _stop(self, heard: Heard, run: _Run) -> None:
        run.write(lambda seq: self._exchange(heard, run, seq))
        if heard.result != "positive":
            return  # it may still be asked again; what is not heard to end is unknown
        self._run = None
        self._kept_alive(run, heard.request.last_ns)
        lasted_s = Decimal(heard.at_ns - run.from_ns) / NS
        least_s = seconds(run.one.seconds) - (seconds(run.one.seconds_tolerance) if run.one.seconds_tolerance else 0)
        short = lasted_s < least_s
        why = f"the other tester stopped it after {lasted_s:.1f} s" if short else ""
        result = "stopped" if short else "completed"
        self._outcome(run, result, "confirmed", why, heard.at_ns)
        self._tell({"run": {"state": "stop confirmed", "result": result, "elapsed_s": f"{lasted_s:.1f}"}})

    # What is written.

    def _intent(self, heard: Heard, one: Pass, state: JobState) -> bodies.Intent:
        return bodies.Intent(
            pass_id=one.id,
            nipples=one.nipples,
            wire_command=heard.command.id,
            seconds=_number(one) if heard.seconds is None else str(heard.seconds),
            start=hexed(heard.request.payload),
            stop=heard.command.stop,
            peer=peer_text(self._peer),
            grade="heard",
            map_digest=state.map_digest,
            learned=heard.command.origin == "learned",
        )

    def _exchange(self, heard: Heard, run: _Run, actuation: int) -> None:
        self._record.seen(self._exchange_body(heard, actuation, run.one.id), self._when(heard.at_ns))

    def _exchange_body(self, heard: Heard, actuation: int | None = None, pass_id: str = "") -> bodies.ExchangeBody:
        verdicts = ["pending"] * len(heard.answers)
        if heard.result in ("positive", "negative"):
            verdicts[-1] = heard.result
        source = f"{self._peer.source:X}" if self._peer.source is not None else ""
        return bodies.ExchangeBody(
            purpose=heard.act,
            request=hexed(heard.request.payload),
            peer=peer_text(self._peer),
            sent_mono=str(heard.request.last_ns),
            sent_wall=str(self._wall_ns(heard.request.last_ns)),
            result=heard.result or "silence",
            answers=tuple(
                bodies.Answer(
                    source=source,
                    payload=hexed(one.payload),
                    verdict=verdict,  # type: ignore[arg-type]
                    first_mono=str(one.first_ns),
                    last_mono=str(one.last_ns),
                    raw=tuple(hexed(raw) for raw in one.frames),
                )
                for one, verdict in zip(heard.answers, verdicts, strict=True)
            ),
            code="" if heard.code is None else f"{heard.code:02X}",
            raw=tuple(hexed(raw) for raw in heard.request.frames),
            actuation=actuation,
            pass_id=pass_id,
        )

    def _outcome(self, run: _Run, result: str, stop: str, why: str, to_ns: int | None, code: int | None = None) -> None:
        times: dict[str, str] = {}
        if result != "refused":
            times["from_mono"] = str(run.from_ns)
        if to_ns is not None:
            times |= {"to_mono": str(to_ns), "duration_ns": str(to_ns - run.from_ns)}

        def write(actuation: int) -> None:
            self._record.seen(
                bodies.Outcome(
                    actuation=actuation,
                    pass_id=run.one.id,
                    result=result,  # type: ignore[arg-type]
                    stop=stop,  # type: ignore[arg-type]
                    why=why,
                    code="" if code is None else f"{code:02X}",
                    next_act=ELSEWHERE if result == "unknown" else "",
                    **times,
                )
            )

        run.write(write)

    def _kept_alive(self, run: _Run, end_ns: int) -> None:
        """Write what was heard to keep the session of a run, up to its stop; nothing where nothing was heard."""
        signs = [(at_ns, payload) for at_ns, payload in self._ear.signs if run.from_ns < at_ns < end_ns]
        if not signs:
            return
        edges = (run.from_ns, *(at_ns for at_ns, _ in signs), end_ns)
        request = next((payload for _, payload in signs if payload[0] == TESTER_PRESENT), signs[0][1])

        def write(actuation: int) -> None:
            self._record.seen(
                bodies.KeepAlive(
                    actuation=actuation,
                    request=hexed(request),
                    count=len(signs),
                    largest_gap_ns=str(max(after - before for before, after in pairwise(edges))),
                    at_mono=tuple(str(at_ns) for at_ns, _ in signs),
                )
            )

        run.write(write)

    def _when(self, mono_ns: int) -> Occurred:
        return occurred(self._wall_ns(mono_ns))

    def _wall_ns(self, mono_ns: int) -> int:
        now = self._clock.stamp()
        return now.wall_ns - max(0, now.mono_ns - mono_ns)

    def _give_up_ns(self, run: _Run) -> int:
        return run.from_ns + run.command.longest_s * NS + END_MARGIN_NS


def _pass_in_hand(heard: Heard, state: JobState) -> Pass | None:
    """Return the pass that the walk stands in, when what was heard is its wire command."""
    point = state.point
    one = state.pass_of(point.pass_id) if point is not None and state.status == "open" else None
    return one if one is not None and one.wire_command == heard.command.id else None


def _number(one: Pass) -> str:
    return one.seconds.partition(" ")[0]

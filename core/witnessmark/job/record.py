"""What the runner writes: bodies and exchanges flow in, tickets of the journal thread flow out.

Rules that hold here: what the machine saw is by `machine:runner`, what a person did or said by that person; a manual
time is a range around the touch; a step is by the person whose hands they are, entered by the one at the screen.
"""

from __future__ import annotations

from decimal import Decimal

from witnessmark.clock import NS, Clock
from witnessmark.job.amount import seconds
from witnessmark.job.journal_thread import JournalThread, Ticket
from witnessmark.job.walk.state import (
    ACCEPT,
    AGAIN,
    AIR_ACCEPTED,
    ENDED_EARLY,
    LEFT_OPEN,
    NOT_AGAIN,
    OTHER_PASS,
    PASSES_AGAIN,
    PRESSURE_STAYS,
    READ_FLUIDS,
    REDO,
)
from witnessmark.journal.bodies import BODIES, Answer, Body, ExchangeBody, Reading, StepDone, to_body
from witnessmark.journal.entry import Draft, Occurred, occurred
from witnessmark.link.frame import Peer
from witnessmark.people.person import Person
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.own import MAKE_SAFE, WITNESSED
from witnessmark.talk.exchange import Exchange

MACHINE = "machine:runner"
KIND_OF = {body: kind for kind, body in BODIES.items()}
DECIDED = (
    REDO,
    ACCEPT,
    ENDED_EARLY,
    OTHER_PASS,
    AGAIN,
    NOT_AGAIN,
    READ_FLUIDS,
    LEFT_OPEN,
    PRESSURE_STAYS,
    PASSES_AGAIN,
    AIR_ACCEPTED,
    MAKE_SAFE,
    WITNESSED,
)
"""What is said at the screen, and done by no hand."""
TOUCH_S = 2.0
"""How far a touch may be from the act where the shop has set nothing. Shop-set, no source."""
CUE_S = 0.5
"""How far an act on the cue may be from it. Shop-set, no source."""


def touch_s(procedure: Procedure) -> Decimal:
    """Return how many s a touch may be from the act, as the shop has set it for a procedure, or as it is for none."""
    given = procedure.manual_uncertainty
    return seconds(given, place="manual_uncertainty") if given else Decimal(str(TOUCH_S))


def hexed(data: bytes) -> str:
    return data.hex().upper()


def peer_text(peer: Peer) -> dict[str, str]:
    """Return a peer as entries hold it: identifiers in hex."""
    width = 8 if peer.extended else 3
    text = {"target": f"{peer.target:0{width}X}"}
    if peer.source is not None:
        text["source"] = f"{peer.source:0{width}X}"
    return text


class Record:
    """Writes entries of one job through the journal thread."""

    def __init__(self, thread: JournalThread, job: str, person: Person, clock: Clock, procedure: Procedure) -> None:
        self.thread = thread
        self.job = job
        self.person = self.hands = person
        self._clock = clock
        self._touch_ns = round(touch_s(procedure) * NS)

    def seen(self, body: Body, when: Occurred | None = None) -> Ticket:
        """Record what the machine saw, just now or `when` it was; asked for by the person who is signed on."""
        return self.thread.submit(self.draft(body, MACHINE, when))

    def said(self, body: Body, *, by: str = "", when: Occurred | None = None) -> Ticket:
        """Record what a person did or said; `by` is another person's id. The time is a touch unless `when` is given.

        A step and a reading are by the one whose `hands` they are, all else by the one at the screen.
        """
        manual = isinstance(body, StepDone | Reading) and body.step not in DECIDED
        actor = Person(by).actor if by else (self.hands if manual else self.person).actor
        return self.thread.submit(self.draft(body, actor, when or self.touch()))

    def draft(self, body: Body, done_by: str, when: Occurred | None = None) -> Draft:
        return Draft(KIND_OF[type(body)], self.job, done_by, self.person.actor, when, to_body(body))

    def now_ns(self) -> int:
        """Return the wall clock's ns now."""
        return self._clock.stamp().wall_ns

    def touch(self) -> Occurred:
        """Return the range of an act that a person touched for just now."""
        return self._around(self._touch_ns, "touch")

    def before(self, asked_wall_ns: int) -> Occurred:
        """Return the range of an act done before the touch just now, which says so, and not before it was asked for."""
        now_ns = self._clock.stamp().wall_ns
        return occurred(min(max(now_ns - 2 * self._touch_ns, asked_wall_ns), now_ns), now_ns, basis="touch")

    def cue(self) -> Occurred:
        """Return the range of an act that was counted down to this moment."""
        return self._around(round(CUE_S * NS), "cue")

    def between(self, from_mono_ns: int, to_mono_ns: int) -> Occurred:
        """Return the range between two monotonic moments, of an act told afterwards."""
        now = self._clock.stamp()
        return occurred(
            now.wall_ns - (now.mono_ns - from_mono_ns), now.wall_ns - (now.mono_ns - to_mono_ns), basis="typed"
        )

    def since_wall(self, from_wall_ns: int) -> Occurred:
        """Return the range from a moment on the wall clock to now, of an act told afterwards."""
        now_ns = self._clock.stamp().wall_ns
        return occurred(min(from_wall_ns, now_ns), now_ns, basis="typed")

    def from_cue(self, cue: Occurred, to_mono_ns: int | None) -> Occurred:
        """Return the range of an act that came after a cue and before a run's end, or now where that is not known."""
        now = self._clock.stamp()
        end_ns = now.wall_ns if to_mono_ns is None else now.wall_ns - (now.mono_ns - to_mono_ns)
        return occurred(cue.from_ns, max(end_ns, cue.to_ns), basis="typed")

    def lasted(self, from_mono_ns: int) -> Occurred:
        """Return the range from a monotonic moment to now, of what the machine saw last so long."""
        now = self._clock.stamp()
        return occurred(now.wall_ns - max(0, now.mono_ns - from_mono_ns), now.wall_ns)

    def since(self, from_mono_ns: int) -> Occurred:
        """Return the range from a monotonic moment to the touch just now, of an act done some time between."""
        now = self._clock.stamp()
        start_ns = now.wall_ns - max(0, now.mono_ns - from_mono_ns)
        return occurred(start_ns, now.wall_ns, basis="touch")

    def exchange(
        self,
        exchange: Exchange,
        purpose: str,
        *,
        actuation: int | None = None,
        pass_id: str = "",
        shows_pending: bool = True,
    ) -> Ticket:
        """Record one exchange that has ended, with every byte of it."""
        return self.seen(exchange_body(exchange, purpose, actuation, pass_id, shows_pending))

    def _around(self, width_ns: int, basis: str) -> Occurred:
        now_ns = self._clock.stamp().wall_ns
        return occurred(now_ns - width_ns, now_ns + width_ns, basis=basis)


def exchange_body(
    exchange: Exchange, purpose: str, actuation: int | None, pass_id: str, shows_pending: bool
) -> ExchangeBody:
    """Return the body of an exchange that has ended."""
    left = exchange.left
    return ExchangeBody(
        purpose=purpose,  # type: ignore[arg-type]  # the caller's word is checked when the body is read
        request=hexed(exchange.payload),
        peer=peer_text(exchange.peer),
        sent_mono=str(left.mono_ns) if left else "",
        sent_wall=str(left.wall_ns) if left else "",
        result=exchange.result or "lost",
        answers=tuple(
            Answer(
                source="" if one.source is None else f"{one.source:X}",
                payload=hexed(one.payload),
                verdict=one.verdict,
                first_mono=str(one.first.mono_ns),
                last_mono=str(one.last.mono_ns),
                raw=tuple(hexed(raw) for raw in one.raw),
            )
            for one in exchange.replies
        ),
        code="" if exchange.code is None else f"{exchange.code:02X}",
        raw=tuple(hexed(raw) for raw in exchange.raw),
        actuation=actuation,
        pass_id=pass_id,
        budget=exchange.expired,
        shows_pending=shows_pending,
    )

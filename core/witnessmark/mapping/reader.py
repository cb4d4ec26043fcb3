"""The client of a probe: it asks what a `ReadRequest` can say, and nothing else.

Requests flow in, logged lines flow out. Rules that hold here: one request at a time, each followed by a rest; a request
that was asked before is not asked again; a unit that says it is busy (21) is given time and asked at most three times;
another tester on the bus, a lost link and a wish to stop end the probe, whatever is waited for; what was being asked
then is left out of the log, and asked again by whoever goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from witnessmark.clock import NS
from witnessmark.errors import LocalError
from witnessmark.link.frame import Event, Peer
from witnessmark.mapping.model import HeaderForm
from witnessmark.mapping.peers import bits, spell
from witnessmark.mapping.probe_log import Logged, LoggedAnswer, ProbeLog
from witnessmark.mapping.read_request import Accepted, ReadRequest
from witnessmark.talk.carrier import OtherRequest
from witnessmark.talk.conversation import LONGEST_S, SLICE_REAL_S, Conversation
from witnessmark.talk.exchange import Exchange
from witnessmark.talk.news import News, Unasked
from witnessmark.talk.timing import Timing
from witnessmark.wire.kline import FORMS
from witnessmark.wire.uds.codes import ResponseCode

REST_SHARE = 0.05
"""How long it rests, as a share of the time it spent asking units that answered; rests of REST_S. No source."""
REST_S = 0.01
BUSY_S = 0.5
TRIES = 3


class ProbeStopped(Exception):
    """The probe ends here, as it should. `why` is told to the user, `hint` what to do; what was learned stays.

    `wants` is what the vehicle lacks, for whoever can do it by hand: "wake", "park", "supply on"; empty for nothing.
    """

    def __init__(self, why: str, hint: str = "", wants: str = "") -> None:
        super().__init__(why)
        self.why = why
        self.hint = hint
        self.wants = wants


class Reader:
    """Asks over one conversation. `accepted` allows the extended session; `stop` says whether to stop now.

    `late` are the units whose answers came after their time, `logged` what was in the log when it was opened.
    """

    def __init__(
        self,
        talk: Conversation,
        log: ProbeLog,
        *,
        accepted: Accepted | None = None,
        stop: Callable[[], bool] = lambda: False,
    ) -> None:
        self.clock = talk.clock
        self.asked = 0
        self.late: set[int] = set()
        self.functional = talk.link.capabilities.functional
        self.logged = tuple(log.lines)
        self._talk = talk
        self._log = log
        self._accepted = accepted
        self._stop = stop
        self._timing: dict[Peer, Timing] = {}
        self._owed_s = 0.0

    def expect(self, peer: Peer) -> None:
        """Get ready to hear `peer`."""
        self._talk.expect(peer)

    def timing(self, peer: Peer, timing: Timing) -> None:
        """Use these times for `peer` from here on."""
        self._timing[peer] = timing

    def finish(self) -> None:
        """Write that all was asked. Raises LocalError when it cannot be written."""
        self._log.finish(self.clock.stamp().wall_ns)

    def ask(self, peer: Peer, request: ReadRequest, *, watch: bool = False) -> Logged:
        """Ask, or give what came of it before. Raises ProbeStopped, LocalError when it cannot be sent or logged."""
        if not isinstance(request, ReadRequest):
            raise LocalError("a probe only reads", hint="make a ReadRequest")
        if request.extended and self._accepted is None:
            raise LocalError("the extended session was not asked for", hint="ask for it with its caution")
        target, payload = spell(peer.target, bits(peer)), request.payload.hex().upper()
        known = None if watch else self._log.known(target, payload)
        if known is not None:
            return known
        for attempt in range(TRIES):
            line = self._once(peer, request, watch)
            if line.final[2:3] != bytes((ResponseCode.BUSY_REPEAT_REQUEST,)) or line.final[:1] != b"\x7f":
                break
            self._wait(BUSY_S * (attempt + 1))
        self._log.add(line)
        return line

    def set_aside(self, peer: Peer, request: ReadRequest) -> bool:
        """Whether the request ended in silence a moment ago, so that it would have to be waited for."""
        return self._talk.set_aside_ns(peer, request.payload) is not None

    def _once(self, peer: Peer, request: ReadRequest, watch: bool) -> Logged:
        aside_ns = self._talk.set_aside_ns(peer, request.payload)
        if aside_ns is not None:  # it ended in silence a moment ago, and a late answer could not be told apart
            self._wait_until(aside_ns)
        self._go_on()
        begun_ns = self.clock.mono_ns()
        exchange = self._talk.begin(peer, request.payload, self._timing.get(peer), budget_s=LONGEST_S)
        while exchange.open and self.clock.mono_ns() - begun_ns < LONGEST_S * NS and not self._stop():
            deadline_ns = self._talk.deadline_ns()
            self._pump(SLICE_REAL_S if deadline_ns is None else self._left_real_s(deadline_ns))
        if self._talk.failure is not None:
            raise ProbeStopped(
                f"the link is lost: {self._talk.failure}", "look at the interface, its plug and its cable"
            )
        if exchange.open:
            self._talk.give_up(exchange)
            self._go_on()
            if exchange.left is None:
                raise ProbeStopped(
                    "the interface does not send", "is it on the right bus, at its speed, with the vehicle awake?"
                )
        self.asked += 1
        if exchange.result == "positive" and bits(peer) == 8 and exchange.asked.service < 0x10:
            self._hear_more(exchange)
            self._go_on()
        if exchange.replies:
            self._rest(self.clock.mono_ns() - begun_ns)
        return _logged(peer, exchange, watch)

    def _hear_more(self, exchange: Exchange) -> None:
        """OBD takes several messages on a K-line: hear on until P2 has passed after the last (ISO 14230-2, 4.4)."""
        p2_ns = round(Timing().p2_s * NS) + self._talk.latency.added_ns
        until_ns = self.clock.mono_ns() + p2_ns
        while self.clock.mono_ns() < until_ns and not self._stop():
            for news in self._pump(self._left_real_s(until_ns)):
                if isinstance(news, Event) and news.kind == "begun":
                    until_ns = max(until_ns, news.stamp.mono_ns + p2_ns)
                if isinstance(news, Unasked) and news.message.payload[:1] == exchange.replies[-1].payload[:1]:
                    exchange.keep(news.message, "positive")
                    until_ns = news.message.last.mono_ns + p2_ns

    def _go_on(self) -> None:
        """Raise ProbeStopped where somebody wishes to stop."""
        if self._stop():
            raise ProbeStopped("stopped as asked")

    def _rest(self, took_ns: int) -> None:
        self._owed_s += took_ns * REST_SHARE / NS
        if self._owed_s >= REST_S:
            self._wait(self._owed_s)
            self._owed_s = 0.0

    def _wait(self, seconds: float) -> None:
        self._wait_until(self.clock.mono_ns() + round(seconds * NS))

    def _wait_until(self, until_ns: int) -> None:
        while self.clock.mono_ns() < until_ns and not self._stop():
            self._pump(self._left_real_s(until_ns))

    def _pump(self, wait_real_s: float) -> list[News]:
        came = self._talk.pump(wait_real_s)
        for news in came:
            if isinstance(news, OtherRequest):
                raise ProbeStopped(
                    f"another tester is on the bus: it asked on {news.target:03X}",
                    "take it off the vehicle first, or learn from it: `witnessmark protocol listen`",
                )
            if isinstance(news, Unasked) and news.message.peer.source is not None:
                self.late.add(news.message.peer.source)
        return came

    def _left_real_s(self, until_ns: int) -> float:
        return min(SLICE_REAL_S, max(0.0, self.clock.real_s((until_ns - self.clock.mono_ns()) / NS)))


def _header(raw: Sequence[bytes]) -> HeaderForm:
    """Return the form of the header of a K-line message (ISO 14230-2, 4.2.1: bits 7 and 6 of its format byte)."""
    if not raw or not raw[0]:
        return ""
    form = FORMS[raw[0][0] >> 6]
    return form if form in ("none", "exception") else "addresses"


def _logged(peer: Peer, exchange: Exchange, watch: bool) -> Logged:
    left, width = exchange.left, bits(peer)
    answers = tuple(
        LoggedAnswer(
            source=spell(reply.source if reply.source is not None else peer.target, width),
            payload=reply.payload.hex().upper(),
            first_ns=str(reply.first.wall_ns),
            last_ns=str(reply.last.wall_ns),
            header=_header(reply.raw) if width == 8 else "",
        )
        for reply in exchange.replies
        if reply.payload and reply.verdict in ("positive", "negative", "pending", "ambiguous")
    )
    return Logged(
        target=spell(peer.target, width),
        source="" if peer.source is None else spell(peer.source, width),
        bits=width,
        functional=peer.functional,
        request=exchange.payload.hex().upper(),
        asked_ns=str(left.wall_ns if left is not None else 0),
        answers=answers,
        watch=watch,
    )

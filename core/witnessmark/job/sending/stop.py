"""Stop: one request, repeated until the control unit confirms it or it has been tried for long enough.

Rules that hold here: it needs no approval and waits for nothing; only its own positive answer confirms it; where the
session was lost it is entered again first; every attempt is recorded; it ends as `confirmed`, `gave up` or `lost`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

from witnessmark.clock import NS
from witnessmark.job.bay import Bay
from witnessmark.talk.conversation import SLICE_REAL_S
from witnessmark.talk.exchange import Exchange, Reply
from witnessmark.wire.uds.codes import ResponseCode

FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.1, 1.0
LONGEST_P2_S = 1.0
"""A unit may claim a P2 of up to 65 s (ISO 14229-1, 10.2); a stop that was lost is not repeated as late as that."""
NOT_IN_SESSION = (
    ResponseCode.SUB_FUNCTION_NOT_SUPPORTED_IN_ACTIVE_SESSION,
    ResponseCode.SERVICE_NOT_SUPPORTED_IN_ACTIVE_SESSION,
)
LAST_SLICES = 200
Status = Literal["waiting", "confirmed", "gave up", "lost"]


class Stop:
    """Stops one actuation. `settled` is False while a start request of ours may still be acted on."""

    def __init__(
        self,
        bay: Bay,
        payload: bytes,
        session: int,
        *,
        actuation: int,
        pass_id: str,
        for_s: float,
        settled: Callable[[], bool] = lambda: True,
    ) -> None:
        self.status: Status = "waiting"
        self.answer: Reply | None = None
        self.code: int | None = None
        self.sent = False
        self._bay = bay
        self._payload = payload
        self._session = bytes((0x10, session))
        self._actuation = actuation
        self._pass_id = pass_id
        self._settled = settled
        self._give_up_ns = bay.clock.mono_ns() + round(for_s * NS)
        self._pause_s = FIRST_PAUSE_S
        self._again_ns: int | None = None
        self._exchanges: list[Exchange] = []
        self._send(payload)

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is none of ours."""
        if exchange not in self._exchanges:
            return False
        self._exchanges.remove(exchange)
        self._note_sent(exchange)
        purpose = "session" if exchange.payload == self._session else "stop"
        self._bay.record.exchange(
            exchange, purpose, actuation=self._actuation, pass_id=self._pass_id, shows_pending=self._bay.shows_pending
        )
        if self.status == "waiting":
            self._judge(exchange)
        return True

    def tick(self, now_ns: int) -> None:
        """Let time pass: send again when it is due, or give up."""
        if self.status != "waiting" or self._exchanges or self._again_ns is None or now_ns < self._again_ns:
            return
        if now_ns >= self._give_up_ns:
            self.status = "gave up"
            return
        self._again_ns = None
        self._send(self._payload)

    def deadline_ns(self) -> int | None:
        return self._again_ns if self.status == "waiting" else None

    def _judge(self, exchange: Exchange) -> None:
        if self._bay.talk.failure is not None:
            self.status = "lost"
        elif exchange.payload == self._session:
            self._send(self._payload)
        elif exchange.result == "positive" and self._settled():
            self.status, self.answer = "confirmed", exchange.answer
        elif exchange.code in NOT_IN_SESSION and self.code not in NOT_IN_SESSION:
            self.code = exchange.code
            self._send(self._session)
        else:
            self.code = exchange.code
            self._again_ns = self._bay.clock.mono_ns() + round(self._pause_s * NS)
            self._pause_s = min(LONGEST_PAUSE_S, 2 * self._pause_s)

    def _send(self, payload: bytes) -> None:
        timing = replace(self._bay.timing, p2_s=min(self._bay.timing.p2_s, LONGEST_P2_S))
        budget_s = timing.p2_star_s  # a unit that answers 0x78 for longer is asked again
        exchange = self._bay.talk.begin(self._bay.peer, payload, timing, budget_s=budget_s, urgent=True)
        self._exchanges.append(exchange)
        self._note_sent(exchange)

    def _note_sent(self, exchange: Exchange) -> None:
        """A link that needs a gap between requests lets it leave only after a while."""
        self.sent = self.sent or (exchange.reached != "nothing" and exchange.payload == self._payload)


def stop_once(bay: Bay, payload: bytes) -> None:
    """Send the stop request `payload` once and wait for nothing but its leaving: the program is about to fail."""
    exchange = bay.talk.begin(bay.peer, payload, bay.timing, urgent=True)
    for _ in range(LAST_SLICES):  # where a link needs a gap between requests, it leaves after that
        if exchange.reached != "nothing" or bay.talk.failure is not None:
            break
        bay.talk.pump(SLICE_REAL_S)

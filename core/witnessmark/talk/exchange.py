"""One request and all that answered it: sans-IO, time passed in.

Flows in: when the request left, messages, signs that one has begun, the time. Flows out: every reply with its verdict,
and one result. Rules that hold here (ISO 14229-2:2021, clause 8; ISO 14229-1:2020, 8.2 to 8.4 and annex A.1):

- response code 0x78 is a reply of its own and starts P2* anew; a second, named budget bounds how long a unit may go on
  with it; `expired` names the one that ran out;
- the first part of an answer stops P2: the transport watches the rest;
- a request that asks for no positive answer stays open for P2, and 0x78 reopens it;
- a functional request has a set of answers, keyed by source, until its time is up;
- a reply is told apart only by service, sub-function and identifier: where an earlier request of the same could have
  caused it, it is `ambiguous`; what cannot be its answer is `late` or `foreign` and is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from witnessmark.clock import NS, Stamp
from witnessmark.errors import OutcomeUnknown, PeerError, Reached
from witnessmark.link.frame import Message, Peer
from witnessmark.talk.timing import Timing
from witnessmark.wire.uds.codes import RESPONSE_PENDING
from witnessmark.wire.uds.head import head
from witnessmark.wire.uds.services import Service

Verdict = Literal["positive", "negative", "pending", "late", "foreign", "ambiguous", "malformed"]
Result = Literal["positive", "negative", "silence", "suppressed", "lost"]
Budget = Literal["", "P2", "P2*", "pending budget", "outer bound"]

ALSO_NS = NS
"""So long after a request an answer of another unit counts as one to it. Common practice, no source."""
Key = tuple[int, int, int | None]
"""What a late answer would be mistaken by: the peer's target, service and identifier."""


@dataclass(frozen=True, slots=True)
class Reply:
    """One message that came while the exchange was open, or was kept for it. `code` is a negative answer's."""

    source: int | None
    payload: bytes
    verdict: Verdict
    first: Stamp
    last: Stamp
    raw: tuple[bytes, ...] = ()
    code: int | None = None


def key_of(peer: Peer, payload: bytes) -> Key:
    """Return what the request is set aside by after a silence."""
    asked = head(payload)
    return peer.target, asked.service, asked.identifier


def fits(request: bytes, answer: bytes) -> bool:
    """Whether `answer` can be the answer to `request` by service, sub-function and identifier.

    Input/output control echoes its control parameter (ISO 14229-1:2020, 12.2), which tells a start from a stop. The
    answer to tester present of ISO 14230-3 is 7E alone, and bit 7 of its sessions suppresses nothing: 10 85 is answered
    by 50 85, and 50 83 answers no 10 03 (from memory).
    Raises PeerError for an answer that cannot be read.
    """
    asked, said = head(request), head(answer)
    if not said.is_response or said.service != asked.service:
        return False
    if said.negative:
        return True
    if asked.service == Service.TESTER_PRESENT and said.sub_function is None:
        return True
    if asked.service == Service.DIAGNOSTIC_SESSION_CONTROL and answer[1:2] > b"\x7f" and answer[1:2] != request[1:2]:
        return False
    if asked.sub_function is not None and said.sub_function != asked.sub_function:
        return False
    if asked.service == Service.INPUT_OUTPUT_CONTROL_BY_IDENTIFIER and request[3:4] != answer[3:4]:
        return False
    return asked.identifier is None or said.identifier == asked.identifier


class Exchange:
    """A request on its way and what came of it. Open until `result` is set; it never opens again.

    `added_ns` is what the link adds to P2 and P2*, `budget_s` how long the unit may go on answering 0x78 (None: no
    bound), `unsure` says that an earlier request of the same key may still be answered.
    """

    def __init__(
        self,
        peer: Peer,
        payload: bytes,
        timing: Timing,
        *,
        added_ns: int = 0,
        budget_s: float | None = None,
        unsure: bool = False,
    ) -> None:
        self.peer = peer
        self.payload = bytes(payload)
        self.asked = head(payload)
        self.key = key_of(peer, payload)
        self.timing = timing
        self.unsure = unsure
        self.replies: list[Reply] = []
        self.raw: list[bytes] = []
        self.left: Stamp | None = None
        self.reached: Reached = "nothing"
        self.result: Result | None = None
        self.expired: Budget = ""
        self.ended_ns: int | None = None
        self._p2_ns = round(timing.p2_s * NS) + added_ns
        self._p2_star_ns = round(timing.p2_star_s * NS) + added_ns
        self._budget_ns = None if budget_s is None else round(budget_s * NS)
        self._waiting: dict[int | None, tuple[int, Budget]] = {}
        self._budget_end_ns: int | None = None
        self._receiving: set[int | None] = set()

    @property
    def open(self) -> bool:
        return self.result is None

    @property
    def set_aside_ns(self) -> int:
        """How long after its end this request's key stays set aside when it ended in silence: P2*."""
        return self._p2_star_ns

    @property
    def answers(self) -> dict[int | None, Reply]:
        """The final answer of each source."""
        return {one.source: one for one in self.replies if one.verdict in ("positive", "negative", "ambiguous")}

    @property
    def answer(self) -> Reply | None:
        """The final answer of a physical request: the last that came; None on silence."""
        return next(reversed(self.answers.values()), None)

    @property
    def code(self) -> int | None:
        """The response code of a negative result, else None."""
        return self.answer.code if self.result == "negative" and self.answer else None

    def begun(self, left: Stamp) -> None:
        """The whole request has left at `left`: P2 starts."""
        self.left = left
        self.reached = "all"
        self._waiting[self.peer.source] = (left.mono_ns + self._p2_ns, "P2")

    def answer_begun(self, source: int | None, at_ns: int, *, watched: bool) -> None:
        """The first part of an answer was seen: P2 stops. `watched`: the transport tells a failure; else P2* runs."""
        if self.left is None or not self.open:
            return
        if watched:
            self._receiving.add(source)
        else:
            self._waiting[self._slot(source)] = (at_ns + self._p2_star_ns, "P2*")

    def answer_failed(self, source: int | None, raw: tuple[bytes, ...], stamp: Stamp) -> None:
        """An answer that had begun ended early. What came is kept; another may follow within P2."""
        self.replies.append(Reply(source, b"", "malformed", stamp, stamp, raw))
        self._receiving.discard(source)
        if self.open and self.left is not None:
            self._waiting[self._slot(source)] = (stamp.mono_ns + self._p2_ns, "P2")

    def answer_was_other(self, source: int | None, at_ns: int) -> None:
        """What had begun answers something else: P2 runs anew."""
        if self.open and source in self._receiving:
            self._receiving.discard(source)
            self._waiting[self._slot(source)] = (at_ns + self._p2_ns, "P2")

    def receive(self, message: Message, *, only: bool = True) -> Verdict | None:
        """Take a message in and return what it is to this request; None when it is no answer to it and is left out.

        `only` is False when another open request of the same service could have caused a negative answer.
        """
        try:
            answer = head(message.payload)
        except PeerError:
            self.keep(message, "malformed")
            self.answer_was_other(message.peer.source, message.last.mono_ns)
            return "malformed"
        source = message.peer.source
        ours = self.peer.functional or source == self.peer.source
        if not ours or not self.open or self.left is None or not fits(self.payload, message.payload):
            return None
        self._receiving.discard(source)
        if answer.negative and answer.response_code == RESPONSE_PENDING:
            self._pending(message)
            return "pending"  # where `only` is False, the other request is told by `may_be_pending`
        verdict: Verdict = "negative" if answer.negative else "positive"
        sure = not self.unsure and (only or not answer.negative)
        self.keep(message, verdict if sure else "ambiguous", answer.response_code)
        if not only and answer.negative:
            return "ambiguous"
        self._waiting.pop(self._slot(source), None)
        if not self.peer.functional:
            self._end("negative" if answer.negative else "positive", message.last.mono_ns)
        return self.replies[-1].verdict

    def may_be_pending(self, message: Message) -> None:
        """Another open request of the same service took a 0x78 that may as well be this one's: P2* runs anew."""
        if self.open and self.left is not None and fits(self.payload, message.payload):
            self._pending(message)

    def keep(self, message: Message, verdict: Verdict, code: int | None = None) -> None:
        """Keep a message with a verdict found elsewhere (`late`, `foreign`); it changes nothing."""
        source, first, last = message.peer.source, message.first, message.last
        self.replies.append(Reply(source, message.payload, verdict, first, last, message.raw, code))

    def tick(self, mono_ns: int) -> None:
        """Let time pass: the exchange ends when the last thing it waits for has run out."""
        if not self.open or self.left is None:
            return
        if self._budget_end_ns is not None and mono_ns >= self._budget_end_ns:
            self.expired = "pending budget"
            self._end("silence", mono_ns)
            return
        if self._receiving:
            return
        for source, (until_ns, budget) in list(self._waiting.items()):
            if mono_ns >= until_ns:
                del self._waiting[source]
                self.expired = budget
        if not self._waiting:
            self._end(self._without_answer(), mono_ns)

    def lost(self, mono_ns: int) -> None:
        """The link is gone, or would not take the request: nothing more will come. `reached` says how far it got."""
        if self.open:
            self._end("lost", mono_ns)

    def give_up(self, mono_ns: int) -> None:
        """End it whatever is still going on: `lost` when it never left whole, else as its time had run out."""
        if not self.open:
            return
        result = "lost" if self.left is None else self._without_answer()
        self.expired = "outer bound" if result == "silence" else ""
        self._end(result, mono_ns)

    def deadline_ns(self) -> int | None:
        """When `tick` next has something to do; None when nothing is awaited or the transport watches an answer."""
        if not self.open or self.left is None:
            return None
        moments = [] if self._receiving else [until for until, _ in self._waiting.values()]
        if self._budget_end_ns is not None:
            moments.append(self._budget_end_ns)
        return min(moments, default=None)

    def raise_silence(self) -> None:
        """Raise OutcomeUnknown naming the budget when the exchange ended without an answer to a sent request."""
        if self.result == "silence":
            raise OutcomeUnknown(
                f"no answer to {self.payload.hex(' ').upper()} ({self.expired} ran out)",
                budget=self.expired,
                hint="it may have acted: look before you ask again",
            )

    def _pending(self, message: Message) -> None:
        self.keep(message, "pending", RESPONSE_PENDING)
        self._waiting[self._slot(message.peer.source)] = (message.last.mono_ns + self._p2_star_ns, "P2*")
        if self._budget_ns is not None and self._budget_end_ns is None and self.left is not None:
            self._budget_end_ns = self.left.mono_ns + self._budget_ns

    def _without_answer(self) -> Result:
        finals = self.answers.values()
        if finals:
            positive = any(one.verdict != "negative" and one.code is None for one in finals)
            self.expired = ""
            return "positive" if positive else "negative"
        # Of ISO 14230-3 it is a session that was not entered; we never ask one of ISO 14229-1 to keep quiet.
        session = self.asked.service == Service.DIAGNOSTIC_SESSION_CONTROL
        if (
            self.asked.suppress
            and not session
            and not any(one.verdict in ("pending", "malformed") for one in self.replies)
        ):
            self.expired = ""
            return "suppressed"
        return "silence"

    def _slot(self, source: int | None) -> int | None:
        return source if self.peer.functional else self.peer.source

    def _end(self, result: Result, mono_ns: int) -> None:
        self.result = result
        self.ended_ns = mono_ns
        self._waiting.clear()
        self._receiving.clear()
        self._budget_end_ns = None


def also_answers(asked: Exchange, message: Message) -> bool:
    """Whether a message answers a request that went to one unit, and comes from another one, and soon."""
    source = message.peer.source
    if asked.peer.functional or asked.left is None or source in (None, asked.peer.source):
        return False
    try:
        return message.last.mono_ns - asked.left.mono_ns <= ALSO_NS and fits(asked.payload, message.payload)
    except PeerError:
        return False

"""Requests and answers brought together: messages in the order in which they were told, conversations out.

The rule: an answer belongs to the latest earlier request of the same service on one of the lines it may answer
(`Requesters`), no more than 6 s after that request, or after its latest 0x78 on the answer's own line; after a 0x78
longer where the line itself stated a longer P2*. An answer that repeats another data or routine identifier than the
latest request asks for belongs to the latest open request for that identifier, where there is one. "Earlier" means told
before and complete before the answer began. What a lost message began with decides where it belongs; only whole
requests are answered.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from witnessmark.recording.conversation import (
    NO_HEAD,
    Conversation,
    begun,
    is_pending,
    line_of,
    read_head,
    read_request,
)
from witnessmark.recording.line import Line
from witnessmark.wire.isotp.passive import Lost, Message
from witnessmark.wire.uds.head import Head

WINDOW_NS = 6_000_000_000
"""Longer than P2* (5000 ms, ISO 14229-2) by what recorders and gateways add; common practice, no source."""
MARGIN_NS = 1_000_000_000
"""What is added to a P2* that a unit states, as it is to the standard's."""
ECHOED = frozenset((0x22, 0x2E, 0x2F, 0x31))
"""Services whose positive answers repeat the identifier that was asked for (ISO 14229-1, 11.2, 11.7, 13.2, 14.2)."""
_LOOKED_BACK = 64
"""So many earlier requests of a service are looked at for an identifier."""

Requesters = Mapping[Line, tuple[Line, ...]]
"""For each answering line the lines whose requests it may answer."""


@dataclass(slots=True)
class _Open:
    request: Message | None
    functional: bool = False
    identifiers: tuple[int, ...] = ()
    answers: list[Message] = field(default_factory=list)
    lost: list[Lost] = field(default_factory=list)
    waits_ns: dict[Line, int] = field(default_factory=dict)
    settled: set[Line] = field(default_factory=set)


class Pairing:
    """Takes messages one after the other; `conversations` gives what came of them so far."""

    def __init__(
        self, requesters: Requesters, functional: frozenset[Line], asking: frozenset[Line] = frozenset()
    ) -> None:
        self._requesters = requesters
        self._functional = functional
        self._asking = asking
        self._open: list[_Open] = []
        self._requests: dict[tuple[Line, int], list[int]] = {}
        self._p2_star_ns: dict[Line, int] = {}

    def feed(self, part: Message | Lost) -> None:
        """Let in what was told next."""
        line = line_of(part)
        payload = part.payload if isinstance(part, Message) else begun(part)
        facts = read_head(payload) if payload else NO_HEAD
        if line in self._asking:
            facts = read_request(payload)
        if isinstance(part, Message) and not facts.is_response and facts.service >= 0:
            self._requests.setdefault((line, facts.service), []).append(len(self._open))
            self._open.append(_Open(part, line in self._functional, asked_for(part.payload)))
            return
        found = self._find(line, facts, part.first_ns) if facts.is_response else None
        if found is None:
            found = _Open(None)
            self._open.append(found)
        if isinstance(part, Lost):
            found.lost.append(part)
            return
        found.answers.append(part)
        if is_pending(part.payload):
            found.waits_ns[line] = part.last_ns
            return
        found.settled.add(line)
        stated_ns = stated_p2_star_ns(part.payload)
        if stated_ns is not None:
            self._p2_star_ns[line] = stated_ns

    def conversations(self) -> list[Conversation]:
        """Return all conversations, in the order in which their first message was told."""
        return [Conversation(one.request, tuple(one.answers), tuple(one.lost), one.functional) for one in self._open]

    def _find(self, line: Line, facts: Head, first_ns: int) -> _Open | None:
        latest = self._latest(line, facts.service, first_ns)
        if latest is None:
            return None
        if differs(facts, latest.identifiers):
            asked = self._latest(line, facts.service, first_ns, facts.identifier)
            if asked is not None:
                return asked
        return latest if self._is_in_time(latest, line, first_ns) else None

    def _latest(self, line: Line, service: int, first_ns: int, identifier: int | None = None) -> _Open | None:
        """The latest request that was complete; with an identifier, the latest open one in time that asks for it."""
        latest = -1
        for requester in self._requesters.get(line, ()):
            for looked, at in enumerate(reversed(self._requests.get((requester, service), ()))):
                one = self._open[at]
                if one.request is None or one.request.last_ns > first_ns:
                    continue
                if identifier is None:
                    latest = max(latest, at)
                    break
                if looked >= _LOOKED_BACK:
                    break
                fits = identifier in one.identifiers and line not in one.settled
                if fits and self._is_in_time(one, line, first_ns):
                    latest = max(latest, at)
                    break
        return None if latest < 0 else self._open[latest]

    def _is_in_time(self, one: _Open, line: Line, first_ns: int) -> bool:
        assert one.request is not None
        waited_ns = one.waits_ns.get(line)
        if waited_ns is None:
            return first_ns - one.request.last_ns <= WINDOW_NS
        return first_ns - waited_ns <= max(WINDOW_NS, self._p2_star_ns.get(line, 0) + MARGIN_NS)


def asked_for(request: bytes) -> tuple[int, ...]:
    """Return the identifiers that the answer to a request repeats: of service 22 it may be any of several."""
    facts = read_head(request)
    if facts.service not in ECHOED or facts.is_response or facts.identifier is None:
        return ()
    if facts.service != 0x22:
        return (facts.identifier,)
    return tuple(int.from_bytes(request[at : at + 2], "big") for at in range(1, len(request) - 1, 2))


def differs(answer: Head, asked: tuple[int, ...]) -> bool:
    """Say whether a positive answer is for another identifier than those of its request (`asked_for`)."""
    if answer.negative or answer.service not in ECHOED or answer.identifier is None:
        return False
    return bool(asked) and answer.identifier not in asked


def stated_p2_star_ns(payload: bytes) -> int | None:
    """Return the P2* that a positive answer to a session request states, in units of 10 ms (ISO 14229-1, 10.2)."""
    if len(payload) < 6 or payload[0] != 0x50:
        return None
    return int.from_bytes(payload[4:6], "big") * 10_000_000


def pair(
    told: Iterable[Message | Lost],
    requesters: Requesters,
    functional: frozenset[Line],
    asking: frozenset[Line] = frozenset(),
) -> list[Conversation]:
    """Pair all that was told; every message of an `asking` line is a request."""
    pairing = Pairing(requesters, functional, asking)
    for part in told:
        pairing.feed(part)
    return pairing.conversations()

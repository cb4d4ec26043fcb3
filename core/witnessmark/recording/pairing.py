"""Requests and answers brought together: messages in the order in which they were told, conversations out.

The rule: an answer belongs to the latest earlier request of the same service on one of the lines it may answer
(`Requesters`), no more than 6 s after that request, or after its latest 0x78 on the answer's own line. "Earlier" means
told before and complete before the answer began. What a lost message began with decides where it belongs; only whole
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

WINDOW_NS = 6_000_000_000
"""Longer than P2* (5000 ms, ISO 14229-2) by what recorders and gateways add; common practice, no source."""

Requesters = Mapping[Line, tuple[Line, ...]]
"""For each answering line the lines whose requests it may answer."""


@dataclass(slots=True)
class _Open:
    request: Message | None
    functional: bool = False
    answers: list[Message] = field(default_factory=list)
    lost: list[Lost] = field(default_factory=list)
    waits_ns: dict[Line, int] = field(default_factory=dict)


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

    def feed(self, part: Message | Lost) -> None:
        """Let in what was told next."""
        line = line_of(part)
        payload = part.payload if isinstance(part, Message) else begun(part)
        facts = read_head(payload) if payload else NO_HEAD
        if line in self._asking:
            facts = read_request(payload)
        if isinstance(part, Message) and not facts.is_response and facts.service >= 0:
            self._requests.setdefault((line, facts.service), []).append(len(self._open))
            self._open.append(_Open(part, line in self._functional))
            return
        found = self._find(line, facts.service, part.first_ns) if facts.is_response else None
        if found is None:
            found = _Open(None)
            self._open.append(found)
        if isinstance(part, Message):
            found.answers.append(part)
            if is_pending(part.payload):
                found.waits_ns[line] = part.last_ns
        else:
            found.lost.append(part)

    def conversations(self) -> list[Conversation]:
        """Return all conversations, in the order in which their first message was told."""
        return [Conversation(one.request, tuple(one.answers), tuple(one.lost), one.functional) for one in self._open]

    def _find(self, line: Line, service: int, first_ns: int) -> _Open | None:
        latest = -1
        for requester in self._requesters.get(line, ()):
            for at in reversed(self._requests.get((requester, service), ())):
                request = self._open[at].request
                if request is not None and request.last_ns <= first_ns:
                    latest = max(latest, at)
                    break
        if latest < 0:
            return None
        found = self._open[latest]
        assert found.request is not None
        since_ns = found.waits_ns.get(line, found.request.last_ns)
        return found if first_ns - since_ns <= WINDOW_NS else None


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

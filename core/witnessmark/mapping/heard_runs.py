"""The wire commands that another tester used on one control unit: routines (31) and output controls (2F).

What the unit was asked and answered flows in, in order of time; candidates flow out, their runs compared so that
constant and varying bytes stand out. Rules that hold here: a run begins with a positive answer to its start and ends
with a positive answer to its stop, else its length is not known, as where anything shows that messages between the two
were not heard; a byte that varies is a hole of seconds only where every run that was seen to its end took about so
long, and longer or shorter as that byte was more or less.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from witnessmark.mapping.facts import Candidate, Evidence, Observed, Run
from witnessmark.mapping.load import HOLE
from witnessmark.mapping.model import AddressPair
from witnessmark.mapping.never_sent import NEVER_NEEDED, candidate_reasons
from witnessmark.mapping.seen import Answer, Seen
from witnessmark.mapping.tally import moment
from witnessmark.recording.line import NO_TIME_NS
from witnessmark.wire.uds.codes import RESPONSE_PENDING, ResponseCode

_MS = 1_000_000
_SECOND = 1_000 * _MS
SECONDS_SLACK_S = 2.5
"""How far a run may be from the seconds in its request: units add a grace, testers stop late. Common practice, no
source."""

LASTING = frozenset((0x2E, 0x3B, 0x3D, *range(0x34, 0x39)))
"""Services that write: what they leave in the unit outlasts a session."""
TOO_SOON = frozenset(
    (
        ResponseCode.BUSY_REPEAT_REQUEST,
        ResponseCode.REQUIRED_TIME_DELAY_NOT_EXPIRED,
        ResponseCode.TEMPERATURE_TOO_HIGH,
    )
)
"""Refusals that more rest may lift (ISO 14229-1, annex A.1). Any other says nothing about how long it had rested."""


@dataclass(slots=True)
class _Start:
    at_ns: int
    request: bytes
    pending_ms: int
    session: int | None
    ended_ns: int | None = None


@dataclass(slots=True)
class _Group:
    """All that was asked of one routine or output."""

    service: int
    head: bytes
    first_ns: int
    last_ns: int = 0
    asked: int = 0
    runs: list[_Start] = field(default_factory=list)
    requests: list[bytes] = field(default_factory=list)
    stops: Counter[bytes] = field(default_factory=Counter)
    results: Counter[bytes] = field(default_factory=Counter)
    refusals: Counter[int] = field(default_factory=Counter)
    refused_ns: list[int] = field(default_factory=list)
    needs: set[int] = field(default_factory=set)
    functional: bool = False
    open: _Start | None = None
    end_ns: int | None = None
    rest_ns: int | None = None
    refused_rest_ns: int | None = None


class HeardRuns:
    """Takes in what one unit was asked; `candidates` gives what came of it. `needs` are services used so far."""

    def __init__(self) -> None:
        self._groups: dict[bytes, _Group] = {}
        self._needs: set[int] = set()
        self._of_all: set[bytes] = set()

    def use(self, service: int) -> None:
        """Another tester used a service that a wire command may rest on."""
        if service in NEVER_NEEDED:
            self._needs.add(service)

    def default_session(self) -> None:
        """The unit is back in its default session: what was unlocked is locked again, what was written stays."""
        self._needs &= LASTING

    def lost_sight(self) -> None:
        """Messages were not heard: of what runs nobody knows any more when it ends."""
        for group in self._groups.values():
            group.open = None

    def only_answered(self, answer: bytes) -> None:
        """A routine or output control was answered whose request was not heard: what ran may have ended there."""
        head = b"\x31" + answer[2:4] if answer[0] == 0x71 else b"\x2f" + answer[1:3]
        if head in self._groups:
            self._groups[head].open = None

    def feed(self, one: Seen, session: int | None) -> None:
        """Take in one routine (31) or output control (2F)."""
        payload = one.payload
        if payload is None or len(payload) < 4:
            return
        act, head = _act(payload)
        if not act:
            return
        group = self._groups.get(head)
        if group is None:
            group = self._groups[head] = _Group(payload[0], head, one.asked_ns)
        group.last_ns = max([one.asked_ns, *(answer.last_ns for answer in one.answers)])
        final = _final(one.answers)
        if act == "start":
            self._start(group, one, final, session)
        elif act == "stop":
            group.stops[payload] += 1
            group.needs |= self._needs if group.asked else set()
            _stop(group, final)
        else:
            group.results[payload] += 1

    def asked_of_all(self, payload: bytes) -> None:
        """A routine or output control was asked of all units at once."""
        act, head = _act(payload) if len(payload) >= 4 else ("", b"")
        if act == "start":
            self._of_all.add(head)
            if head in self._groups:
                self._groups[head].functional = True
        if head in self._groups:
            self._groups[head].open = None  # it may have stopped, or begun anew, without a word

    def candidates(self, address: AddressPair, evidence: Callable[[int, int, int], Evidence]) -> list[Candidate]:
        """Return what was heard, in the order in which it was first asked for."""
        return [_candidate(group, address, evidence) for group in self._groups.values() if group.asked]

    def _start(self, group: _Group, one: Seen, final: Answer | None, session: int | None) -> None:
        assert one.payload is not None
        group.asked += 1
        group.functional |= one.functional or group.head in self._of_all
        group.needs |= self._needs
        quiet = one.payload[0] == 0x31 and bool(one.payload[1] & 0x80) and not one.answers
        group.requests.append(_plain(one.payload))
        if final is not None and final.payload[0] == 0x7F:
            group.refusals[final.payload[2]] += 1
            if final.last_ns != NO_TIME_NS:
                group.refused_ns.append(final.last_ns)
            if group.end_ns is not None and group.open is None and final.payload[2] in TOO_SOON:
                group.refused_rest_ns = max(group.refused_rest_ns or 0, one.asked_ns - group.end_ns)
        elif final is not None or quiet:
            at_ns = final.last_ns if final is not None else one.asked_ns
            if group.end_ns is not None and group.open is None:
                rest_ns = one.asked_ns - group.end_ns
                group.rest_ns = rest_ns if group.rest_ns is None else min(group.rest_ns, rest_ns)
            group.open = _Start(at_ns, _plain(one.payload), (at_ns - one.asked_ns) // _MS, session)
            group.end_ns = None  # a rest lies between two runs: from the end of this one, once it is heard
            group.runs.append(group.open)
            return
        group.open = None  # asked for again, it had ended: when, was not heard


def _stop(group: _Group, final: Answer | None) -> None:
    stopped = final is not None and final.payload[0] != 0x7F
    if group.open is not None and final is not None and stopped and final.last_ns != NO_TIME_NS:
        group.open.ended_ns = group.end_ns = final.last_ns
    if final is None or final.payload[0] != 0x7F:
        group.open = None


def _act(payload: bytes) -> tuple[str, bytes]:
    """Return what a request does, and the bytes that name its routine or output; nothing for another sub-function."""
    if payload[0] == 0x31:
        act = {1: "start", 2: "stop", 3: "results"}.get(payload[1] & 0x7F, "")
        return act, b"\x31" + payload[2:4]
    if payload[3] == 0:
        return "stop", payload[:3]
    # Only short-term adjustment runs anything; resetToDefault and freezeCurrentState (annex E.1) hold something still.
    return ("start", payload[:3]) if payload[3] == 3 else ("", b"")


def _plain(payload: bytes) -> bytes:
    """The request as it would be sent with its answer wanted."""
    return bytes((payload[0], payload[1] & 0x7F, *payload[2:])) if payload[0] == 0x31 else payload


def _final(answers: tuple[Answer, ...]) -> Answer | None:
    for answer in reversed(answers):
        if not (len(answer.payload) >= 3 and answer.payload[0] == 0x7F and answer.payload[2] == RESPONSE_PENDING):
            return answer
    return None


def _candidate(group: _Group, address: AddressPair, evidence: Callable[[int, int, int], Evidence]) -> Candidate:
    start, hole_at, varied = _compare(group)
    stop = max(group.stops, key=lambda one: group.stops[one]) if group.stops else b""
    if len({_plain(one) for one in group.stops}) > 1:
        varied.append("the stop request is not always the same")
    results = _plain(max(group.results, key=lambda one: group.results[one])) if group.results else b""
    lengths = [(run.ended_ns - run.at_ns) // _MS for run in group.runs if run.ended_ns is not None]
    sessions = {run.session for run in group.runs if run.session is not None}
    observed = Observed(
        runs=len(group.runs),
        ended=len(lengths),
        shortest_ms=min(lengths, default=None),
        longest_ms=max(lengths, default=None),
        seconds=() if hole_at is None else tuple(sorted({run.request[hole_at] for run in group.runs if run.ended_ns})),
        rest_ms=None if group.rest_ns is None else group.rest_ns // _MS,
        refused_rest_ms=None if group.refused_rest_ns is None else group.refused_rest_ns // _MS,
        session=max(sessions, default=None),
        functional=group.functional,
        needs=tuple(f"{service:02X}" for service in sorted(group.needs)),
        varied=tuple(varied),
        refusals={f"{code:02X}": count for code, count in sorted(group.refusals.items())},
        pending_ms=max((run.pending_ms for run in group.runs), default=0),
    )
    stop_text, results_text = _plain(stop).hex().upper() if stop else "", results.hex().upper()
    never = candidate_reasons(start, stop_text, results_text, observed, address)
    return Candidate(
        id=f"{group.service:02X}-{group.head[1:3].hex().upper()}",
        start=start,
        stop=stop_text,
        results=results_text,
        observed=observed,
        runs=tuple(_run(one) for one in group.runs),
        refused_ns=tuple(map(str, group.refused_ns)),
        never=tuple(one.why for one in never),
        evidence=evidence(group.asked, group.first_ns, group.last_ns),
    )


def _run(start: _Start) -> Run:
    ms = None if start.ended_ns is None else (start.ended_ns - start.at_ns) // _MS
    return Run(start_ns=moment(start.at_ns), request=start.request.hex().upper(), ms=ms)


def _compare(group: _Group) -> tuple[str, int | None, list[str]]:
    """Return the start with its varying bytes marked, where its hole of seconds is, and what varied unexplained."""
    requests = group.requests
    size = min(map(len, requests))
    varied = [] if len(set(map(len, requests))) == 1 else ["the start request is not always as long"]
    different = [at for at in range(size) if len({one[at] for one in requests}) > 1]
    hole_at = different[0] if len(different) == 1 and not varied and _is_seconds(group, different[0]) else None
    text = ""
    for at in range(size):
        if at == hole_at:
            text += HOLE
        else:
            text += ".." if at in different else f"{requests[0][at]:02X}"
    varied += [f"byte {at} of the start {_how(requests, at)}" for at in different if at != hole_at]
    return text, hole_at, varied


def _is_seconds(group: _Group, at: int) -> bool:
    seen = [(run.request[at], (run.ended_ns - run.at_ns) / _SECOND) for run in group.runs if run.ended_ns is not None]
    if len({value for value, _ in seen}) < 2 or any(abs(took - value) > SECONDS_SLACK_S for value, took in seen):
        return False
    return all(
        _follows(more - less, longer - shorter) for less, shorter in seen for more, longer in seen if more > less
    )


def _follows(more: int, longer_s: float) -> bool:
    """Whether a run took longer as its byte was more: a counter goes on while every run takes as long as the last."""
    return abs(longer_s - more) < more / 2 + 0.5


def _how(requests: list[bytes], at: int) -> str:
    values = [one[at] for one in requests]
    if len(values) > 2 and all((after - before) % 256 == 1 for before, after in pairwise(values)):
        return "counts up"
    if at == len(requests[0]) - 1 and len(set(requests)) > 1 and _is_checksum(requests, at):
        return "follows the bytes before it, as a checksum does"
    return f"varied: {', '.join(f'{value:02X}' for value in sorted(set(values))[:8])}"


def _is_checksum(requests: list[bytes], at: int) -> bool:
    def xor(data: bytes) -> int:
        total = 0
        for byte in data:
            total ^= byte
        return total

    return any(len({(one[at] - rule(one[:at])) % 256 for one in requests}) == 1 for rule in (sum, xor))

"""Which lines carry diagnostics, found from what was counted of all lines: censuses and samples in, `Found` out.

A line is a candidate when its frames keep to ISO 15765-2 (at most one in ten is refused, which does not matter where a
standard keeps the identifier for diagnostics), its messages begin with a service (nine in ten) and go one way (nine in
ten). Where a standard keeps the identifier, half of the messages are enough while the frames are sound. A message that
another line refused by its very number is a request whatever that number is (`refusals`). A candidate carries
diagnostics when one of these holds:

1. A standard keeps its identifier for that (`line.is_legislated`).
2. It answers: at least half of its messages fit the latest request of the same service on its standard partner or on a
   functional line, and one of them repeats that request's sub-function or identifier, or refuses it.
3. The same with any other line of the channel, the best match first, each requester given once while that is possible.
4. Requests or answers in several frames were heard whole from it: at least two, or one of five frames, and they are at
   least half of its frames.
5. It asks: a line was found by 2 or 3 because it answers this one.

An identifier that was found without an address byte is not read a second time with one. Anything else is ordinary
traffic; candidates, and identifiers kept by a standard, that were not found are set aside, and it is said why. A line
that was named by hand is always found. What cannot be found: single requests that nobody answers, and single answers
without their requests, on identifiers that no standard names.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import NamedTuple

from witnessmark.recording.census import Census, Sample, Utterance
from witnessmark.recording.conversation import is_pending, read_head, read_request
from witnessmark.recording.line import Line, is_functional, is_legislated, may_answer, only_asks, standard_partner
from witnessmark.recording.pairing import WINDOW_NS, Requesters
from witnessmark.recording.refusals import is_candidate, refused_lines
from witnessmark.wire.uds.head import Head

Named = tuple[int, int | None]
"""What a person names a line by: its identifier, and its address byte where there is one."""

_FEW = 100
"""Utterances of a line that are looked at first; all of them when that does not settle it."""


@dataclass(frozen=True, slots=True)
class Found:
    """The lines that carry diagnostics, in the order given; who may answer whom; which lines ask many at once; of which
    every message is a request; what looked like it and was set aside, with the reason; how many frames of a line no
    receiver would take."""

    lines: tuple[Line, ...]
    requesters: Requesters
    functional: frozenset[Line]
    asking: frozenset[Line] = frozenset()
    aside: tuple[tuple[Line, str], ...] = ()
    refused: tuple[tuple[Line, int], ...] = ()


class _Match(NamedTuple):
    fitting: int
    repeated: int
    of: int
    delay_ns: float

    @property
    def holds(self) -> bool:
        return self.fitting * 2 >= self.of and self.repeated > 0


def find(censuses: Mapping[Line, Census], sample: Sample, named: frozenset[Named] = frozenset()) -> Found:
    """Decide for every line; the `named` ones are found whatever they carry."""
    first = _find([line for line in censuses if line.ext is None], censuses, sample, named)
    lines = frozenset(first.lines)
    rest = [line for line in censuses if line.ext is not None and line._replace(ext=None) not in lines]
    then = _find(rest, censuses, sample, named)
    if not then.lines:
        return first
    return Found(
        first.lines + then.lines,
        {**first.requesters, **then.requesters},
        first.functional | then.functional,
        first.asking | then.asking,
        tuple(one for one in first.aside if all(one[0] != line._replace(ext=None) for line in then.lines)),
        first.refused + then.refused,
    )


def _find(lines: Sequence[Line], censuses: Mapping[Line, Census], sample: Sample, named: frozenset[Named]) -> Found:
    kept = {line for line in lines if (line.number, line.ext) in named}
    sound = [line for line in lines if line in kept or is_candidate(line, censuses[line])]
    refused = refused_lines(lines, sound, censuses, sample)
    candidates = [line for line in lines if line in sound or line in refused]
    asks = {line for line in candidates if line in refused or only_asks(line) or _asks(censuses[line])}
    found = _decide(candidates, asks, kept, censuses, sample, _FEW)
    if len(found.lines) < len(candidates):
        most = max(censuses[line].whole + censuses[line].begun for line in candidates)
        if most > _FEW:
            found = _decide(candidates, asks, kept, censuses, sample, most)
    carry = frozenset(found.lines)
    asking = frozenset(line for line in carry if line in refused or only_asks(line))
    aside = tuple(
        (line, _why_not(line in asks, censuses[line], line in candidates))
        for line in lines
        if line not in carry
        and line.ext is None
        and censuses[line].whole + censuses[line].begun
        and (line in candidates or is_legislated(line))
    )
    refused_frames = tuple((line, censuses[line].refused) for line in found.lines if censuses[line].refused)
    return replace(found, asking=asking, aside=aside, refused=refused_frames)


def _why_not(asks: bool, census: Census, candidate: bool) -> str:
    if candidate:
        return "nobody answers it" if asks else "it answers nobody"
    if census.spoken * 10 < census.whole * 9:
        return f"{census.whole - census.spoken} of {census.whole} messages begin with no known service"
    return "requests and answers are mixed on it"


def _asks(census: Census) -> bool:
    return (census.asked + census.begun_asked) * 2 > census.spoken + census.begun


def _decide(
    candidates: Sequence[Line],
    asks: Collection[Line],
    kept: Collection[Line],
    censuses: Mapping[Line, Census],
    sample: Sample,
    size: int,
) -> Found:
    asking = [line for line in candidates if line in asks]
    answering = [line for line in candidates if line not in asks]
    heard = {line: sample(line, size) for line in candidates}
    requests = {line: _by_service(heard[line]) for line in asking}
    requesters: dict[Line, tuple[Line, ...]] = {}
    for line in answering:
        known = _known_requesters(line, asking)
        if known and (is_legislated(line) or _match(heard[line], [requests[one] for one in known]).holds):
            requesters[line] = known
    shared = _learn(answering, asking, heard, requests, requesters)
    lines = tuple(
        line
        for line in candidates
        if is_legislated(line)
        or line in kept
        or line in requesters
        or _is_segmented(censuses[line])
        or (line in requests and _is_answered(line, requesters, heard, requests))
    )
    for line in answering:
        if line in lines and line not in requesters:
            requesters[line] = _known_requesters(line, asking)
    functional = frozenset(line for line in lines if is_functional(line) or line in shared)
    return Found(lines, requesters, functional)


def _known_requesters(line: Line, asking: Iterable[Line]) -> tuple[Line, ...]:
    partner = standard_partner(line)
    return tuple(one for one in asking if one == partner or (is_functional(one) and may_answer(one, line)))


def _is_answered(
    request: Line,
    requesters: Requesters,
    heard: Mapping[Line, Sequence[Utterance]],
    requests: Mapping[Line, dict[int, list[Utterance]]],
) -> bool:
    """Whether an answer of a line that was found fits a request of this one."""
    return any(
        _match(heard[line], [requests[request]]).fitting for line, known in requesters.items() if request in known
    )


def _learn(
    answering: Sequence[Line],
    asking: Sequence[Line],
    heard: Mapping[Line, Sequence[Utterance]],
    requests: Mapping[Line, dict[int, list[Utterance]]],
    requesters: dict[Line, tuple[Line, ...]],
) -> set[Line]:
    """Give lines without known requesters the one they fit best; return the requesters that several lines answer."""
    taken = {one for known in requesters.values() for one in known if not is_functional(one)}
    matches: list[tuple[int, float, Line, Line]] = []
    for line in answering:
        if line in requesters:
            continue
        services = {read_head(answer.start).service for answer in heard[line]}
        for one in asking:
            if one in taken or is_functional(one) or not may_answer(one, line) or not services & requests[one].keys():
                continue
            match = _match(heard[line], [requests[one]])
            if match.holds:
                matches.append((-match.fitting, match.delay_ns, line, one))
    # Where units are asked side by side several fit alike; makers number the answers of all units in the same way.
    steps = Counter(line.number - one.number for _, _, line, one in matches)
    matches.sort(key=lambda match: (match[0], -steps[match[2].number - match[3].number], *match[1:]))
    shared: set[Line] = set()
    given: set[Line] = set()
    for may_share in (False, True):
        for _, _, line, one in matches:
            if line in requesters or (one in given and not may_share):
                continue
            if one in given:
                shared.add(one)
            given.add(one)
            requesters[line] = (one,)
    return shared


def _is_segmented(census: Census) -> bool:
    return census.inside * 2 >= census.frames and (census.segmented >= 2 or census.inside >= 5)


def _by_service(utterances: Iterable[Utterance]) -> dict[int, list[Utterance]]:
    by_service: dict[int, list[Utterance]] = {}
    for utterance in utterances:
        if utterance.whole:
            by_service.setdefault(read_request(utterance.start).service, []).append(utterance)
    return by_service


def _match(answers: Sequence[Utterance], requests: Sequence[dict[int, list[Utterance]]]) -> _Match:
    """Count the answers that fit: the first final one, and any 0x78, of the latest request, within the window."""
    settled: set[int] = set()
    delays: list[int] = []
    repeated = 0
    for answer in answers:
        facts = read_head(answer.start)
        request = _latest(answer, facts.service, requests)
        if request is None or request.told in settled or answer.first_ns - request.last_ns > WINDOW_NS:
            continue
        repeats = _repeats(read_request(request.start), facts, len(answer.start))
        if repeats is False:
            continue
        if not is_pending(answer.start):
            settled.add(request.told)
        repeated += bool(repeats)
        delays.append(answer.first_ns - request.last_ns)
    return _Match(len(delays), repeated, len(answers), median(delays) if delays else 0)


def _latest(answer: Utterance, service: int, requests: Sequence[dict[int, list[Utterance]]]) -> Utterance | None:
    latest: Utterance | None = None
    for by_service in requests:
        asked = by_service.get(service, ())
        for at in range(bisect_left(asked, answer.told, key=lambda one: one.told) - 1, -1, -1):
            if asked[at].last_ns <= answer.first_ns:
                if latest is None or asked[at].told > latest.told:
                    latest = asked[at]
                break
    return latest


def _repeats(request: Head, answer: Head, size: int) -> bool | None:
    """Whether an answer repeats what was asked, as a refusal of 3 bytes does by naming the service; None where there is
    nothing that could be repeated."""
    if answer.negative:
        return size == 3
    told = False
    for asked, said in ((request.sub_function, answer.sub_function), (request.identifier, answer.identifier)):
        if asked is not None and said is not None:
            if asked != said:
                return False
            told = True
    return told or None

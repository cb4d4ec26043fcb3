"""Lines whose messages begin oddly and are requests all the same, because another line refuses them by their number.

Censuses and samples flow in, the lines that are to be looked at flow out. The rule: of a line whose frames are sound,
another line's refusals (7F, the number, a code) name the first byte of its latest message, at least half of them, and
with the messages so refused nine in ten are requests; or three numbers at least were refused so.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Mapping, Sequence

from witnessmark.recording.census import Census, Sample, Utterance, speaks
from witnessmark.recording.line import Line, is_legislated, may_answer
from witnessmark.recording.pairing import WINDOW_NS

_FEW = 100


def is_candidate(line: Line, census: Census) -> bool:
    """Say whether what was counted of a line looks like diagnostics (see `finding`)."""
    sound = census.refused * 10 <= census.frames
    if is_legislated(line):
        if sound and census.spoken * 2 >= census.whole:
            return True
        if not census.whole:
            return False
    elif not sound or not census.whole + census.begun:
        return False
    answered = census.spoken - census.asked
    return census.spoken * 10 >= census.whole * 9 and max(census.asked, answered) * 10 >= census.spoken * 9


def refused_lines(
    lines: Sequence[Line], candidates: Collection[Line], censuses: Mapping[Line, Census], sample: Sample
) -> set[Line]:
    """Return the lines that are no candidates by themselves, but whose messages are refused by one that is."""
    known = frozenset(candidates)
    doubtful = [line for line in lines if line not in known and _may_be_refused(line, censuses[line])]
    if not doubtful:
        return set()
    refusing = {line: refusals for line in candidates if (refusals := _refusals(sample(line, _FEW)))}
    return {
        line
        for line in doubtful
        if any(may_answer(line, one) and _is_refused(sample(line, _FEW), refusing[one]) for one in refusing)
    }


def _may_be_refused(line: Line, census: Census) -> bool:
    return census.whole > 0 and line.ext is None and (is_legislated(line) or census.refused * 10 <= census.frames)


def _refusals(heard: Sequence[Utterance]) -> list[Utterance]:
    return [one for one in heard if one.whole and len(one.start) == 3 and one.start[0] == 0x7F]


def _is_refused(heard: Sequence[Utterance], refusals: Sequence[Utterance]) -> bool:
    requests = [one for one in heard if one.whole]
    fitting = 0
    refused: dict[int, int] = {}
    for refusal in refusals:
        at = bisect_left(requests, refusal.told, key=lambda one: one.told) - 1
        if at < 0 or refusal.first_ns - requests[at].last_ns > WINDOW_NS:
            continue
        if requests[at].start[0] == refusal.start[1]:
            fitting += 1
            refused[requests[at].told] = requests[at].start[0]
    asked = sum(speaks(one.start) == 1 or one.told in refused for one in requests)
    enough = asked * 10 >= len(requests) * 9 or len(set(refused.values())) >= 3
    return fitting > 0 and fitting * 2 >= len(refusals) and enough

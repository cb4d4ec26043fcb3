"""What cannot have been counted or measured, though its form is right: each mistake with the key it stands at.

A map flows in, (path, what, hint) flow out. Rule that holds here: no order or count is taken that no measuring gives;
what a unit states of itself, however odd, is taken as it was said.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from witnessmark.mapping.facts import Observed, Spread
from witnessmark.mapping.model import ProtocolMap, WireCommand

Mistake = tuple[str, str, str]

LONGEST_S = 3600
"""No service action keeps a pump or valve running for longer than an hour. Common practice, no source."""
REST_S = 86_400
_COUNT_HINT = "write how often it was seen"


def measured_mistakes(unit: ProtocolMap) -> Iterator[Mistake]:
    """Name what cannot be among the counts, times and observed runs of a map."""
    for index, service in enumerate(unit.services):
        at = f"$.services[{index}]"
        counts = {"asked": service.asked, "positive": service.positive, "silent": service.silent}
        yield from _counts(at, counts | {f"codes.{code}": count for code, count in service.codes.items()})
    for index, one in enumerate(unit.identifiers):
        yield from _counts(f"$.identifiers[{index}]", {"values": one.values})
    for index, format_ in enumerate(unit.codes):
        if not 1 <= format_.bytes_per_code <= 4:
            yield (
                f"$.codes[{index}].bytes_per_code",
                f"{format_.bytes_per_code} bytes are no trouble code",
                "use 2 or 3",
            )
    if unit.habits is not None:
        counts = {"pending": unit.habits.pending, "pending_most": unit.habits.pending_most}
        yield from _counts("$.habits", counts)
        yield from _spread("$.habits.answer", unit.habits.answer)
        yield from _spread("$.habits.pending_gap", unit.habits.pending_gap)
    for index, command in enumerate(unit.wire_commands):
        yield from _command(f"$.wire_commands[{index}]", command)
    for index, candidate in enumerate(unit.candidates):
        yield from _observed(f"$.candidates[{index}].observed", candidate.observed)


def _command(at: str, command: WireCommand) -> Iterator[Mistake]:
    if command.longest_s > LONGEST_S:
        yield f"{at}.longest_s", f"{command.longest_s} s is longer than an hour", "use the maker's figure, in seconds"
    if command.cool_down_s > REST_S:
        yield f"{at}.cool_down_s", f"{command.cool_down_s} s is longer than a day", "use the maker's figure, in seconds"
    heard = command.observed is not None or (command.evidence is not None and command.evidence.how == "heard")
    if heard and command.origin != "learned":
        yield f"{at}.origin", "it was heard from another tester and is called published", 'write "learned"'
    if command.observed is not None:
        yield from _observed(f"{at}.observed", command.observed)


def _observed(at: str, of: Observed) -> Iterator[Mistake]:
    yield from _counts(at, {"runs": of.runs, "ended": of.ended})
    if of.ended > of.runs:
        yield f"{at}.ended", f"{of.ended} of {of.runs} runs cannot have ended", "give the runs that it counts"
    if of.shortest_ms is not None and of.longest_ms is not None and of.shortest_ms > of.longest_ms:
        what = f"the shortest run, {of.shortest_ms} ms, is longer than the longest, {of.longest_ms} ms"
        yield f"{at}.shortest_ms", what, "give both as they were observed"
    for index, seconds in enumerate(of.seconds):
        if not 0 <= seconds <= 0xFF:
            yield f"{at}.seconds[{index}]", f"{seconds} s does not fit the one byte of the hole", "use 0 to 255"


def _spread(at: str, of: Spread | None) -> Iterator[Mistake]:
    if of is None:
        return
    if of.count < 1:
        yield f"{at}.count", f"{of.count} times cannot be", _COUNT_HINT
    if any(one > other for one, other in pairwise((of.least_us, of.median_us, of.p95_us, of.most_us))):
        yield f"{at}.least_us", "least, median, p95 and most do not grow", "give them as they were measured"


def _counts(at: str, counts: dict[str, int]) -> Iterator[Mistake]:
    for name, count in counts.items():
        if count < 0:
            yield f"{at}.{name}", f"{count} is below 0", _COUNT_HINT

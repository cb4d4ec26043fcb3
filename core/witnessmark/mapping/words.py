"""What a fact is called for people: states of services and identifiers, addresses, spans.

Facts flow in, short texts flow out. Rule that holds here: what nobody asked is "not known", never "no".
"""

from __future__ import annotations

from witnessmark.mapping.facts import IdentifierFact, Observed, ServiceFact, Spread
from witnessmark.mapping.model import AddressPair, HeaderForm, ProtocolMap
from witnessmark.wire.uds.codes import RESPONSE_PENDING, nrc_name

NOT_KNOWN = "not known"
UNANSWERED = "no answer was wanted"
"""It was only asked with its positive answer suppressed, and did not refuse: nobody knows whether it heard."""
ONLY_PENDING = "asked for time, then no answer was seen"
MISSING = "does not have it"
_NOT_SUPPORTED = "11"
PENDING = f"{RESPONSE_PENDING:02X}"
"""It asks for time, and is no refusal."""
HEADERS: dict[HeaderForm, str] = {
    "addresses": "with addresses",
    "none": "without addresses",
    "exception": "of the exception form (ISO 9141-2)",
}
SHORTEST_US = 100
"""What is shorter is called "below 0.1 ms": 0.0 ms would say that it took no time."""


def address(pair: AddressPair) -> str:
    """`6B3 > 6BB`, `6F1/12 > 612/F1` with address bytes, or `? > 72D` for a unit that was only heard answering."""
    asked, answered = pair.request_extension or pair.extension, pair.extension
    request = f"{pair.request}/{asked}" if pair.request and asked else pair.request or "?"
    return f"{request} > {pair.answer}/{answered}" if answered else f"{request} > {pair.answer}"


def refusal(code: str) -> str:
    """`22 conditionsNotCorrect`."""
    return f"{code} {nrc_name(int(code, 16))}"


def refusals(fact: ServiceFact) -> dict[str, int]:
    """How often a service was refused, by response code."""
    return {code: count for code, count in fact.codes.items() if code != PENDING}


def service(fact: ServiceFact | None) -> str:
    """Say in a word or two whether a unit has a service."""
    if fact is None:
        return NOT_KNOWN
    codes = list(refusals(fact))
    if fact.positive:
        return "answers"
    if codes == [_NOT_SUPPORTED]:
        return MISSING
    if codes:
        return "refuses: " + ", ".join(codes)
    if fact.codes:
        return ONLY_PENDING
    if fact.silent:
        return "silent"
    return UNANSWERED if fact.asked else NOT_KNOWN


def is_known(state: str) -> bool:
    """Whether what `service` says tells anything of the unit."""
    return state not in (NOT_KNOWN, UNANSWERED, ONLY_PENDING)


def identifier(fact: IdentifierFact) -> str:
    """Say what an identifier's value is, or why there is none."""
    if fact.code:
        return f"refused: {refusal(fact.code)}"
    text = fact.text or fact.value
    return f"{text} {fact.unit}".strip() + (f" ({fact.values} different values)" if fact.values > 1 else "")


def value(record: str) -> str:
    """A record in hex, as text where it is all printable."""
    raw = bytes.fromhex(record)
    return raw.decode("ascii") if raw and all(0x20 <= byte <= 0x7E for byte in raw) else record


def spelled(record: str) -> str:
    """A record in hex, as text with its hex behind where it is all printable: `03.20 (30332E3230)`."""
    text = value(record)
    return record if text == record else f"{text} ({record})"


def spread(found: Spread | None) -> str:
    """`median 1.2 ms, 95 % within 3.0 ms, longest 4.1 ms (of 265)`."""
    if found is None:
        return NOT_KNOWN
    if found.most_us < SHORTEST_US:
        return f"below 0.1 ms, each of {found.count} times"
    within = _ms(found.p95_us) if found.p95_us < SHORTEST_US else f"within {_ms(found.p95_us)}"
    return f"median {_ms(found.median_us)}, 95 % {within}, longest {_ms(found.most_us)} (of {found.count})"


def _ms(us: int) -> str:
    return "below 0.1 ms" if us < SHORTEST_US else f"{us / 1000:.1f} ms"


def observed(found: Observed | None) -> str:
    """Say in a sentence what was seen of a wire command."""
    if found is None:
        return "nothing was observed of it"
    parts = [_runs(found)]
    if found.shortest_ms is not None and found.longest_ms is not None:
        # Rounded down, as the whole seconds are that a run is then allowed at most.
        least, most = (f"{ms // 100 / 10:.1f}" for ms in (found.shortest_ms, found.longest_ms))
        parts.append(f"{least} s long" if least == most else f"{least} to {most} s long")
    if found.seconds:
        parts.append("asked for " + ", ".join(map(str, found.seconds)) + " s")
    if found.rest_ms is not None:
        parts.append(f"started again after {found.rest_ms / 1000:.1f} s of rest")
    if found.refused_rest_ms is not None:
        parts.append(f"refused as too soon after {found.refused_rest_ms / 1000:.1f} s of rest")
    parts += [f"{count} time{'' if count == 1 else 's'} {refusal(code)}" for code, count in found.refusals.items()]
    return "; ".join(parts)


def _runs(found: Observed) -> str:
    if found.runs == 0:
        return "it never ran"
    if found.runs == 1:
        return "1 run, seen to its end" if found.ended else "1 run, its end was not seen"
    ended = "all" if found.ended == found.runs else str(found.ended) if found.ended else "none"
    return f"{found.runs} runs, {ended} seen to their end"


def session(number: int, name: str) -> str:
    """`03 extendedDiagnosticSession`; bit 7 is no part of a session of ISO 14229-1 (8.2.2), so that one is of 14230."""
    said = f" {name}" if name and not name.startswith("0x") else ""
    return f"{number:02X}{said}" + (" (ISO 14230-3)" if number > 0x7F else "")


def states_times(one: ProtocolMap) -> bool:
    """Say whether a map's times are its unit's own; a learned one has the standard's where no answer states any."""
    return one.evidence is None or any(known.p2_ms for known in one.sessions)


def unit(one: ProtocolMap) -> str:
    """Name a unit: its title and address."""
    return f"{one.title} ({address(one.address)})"

"""What each key of a map is called for people, and what changed between two values of it, in words.

Two facts of one kind flow in, sentences flow out. Rule that holds here: every key of the document has its label, so
that nothing can change without a sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import msgspec

from witnessmark.mapping import facts, model, words

LABELS: dict[type[msgspec.Struct], dict[str, str]] = {
    facts.Evidence: {
        "how": "how it is known", "source": "what it rests on", "digest": "the digest of what it rests on",
        "first_ns": "when it was seen first", "last_ns": "when it was seen last", "count": "how often it was seen",
    },
    facts.SessionFact: {
        "session": "its number", "name": "its name", "answer": "the answer", "code": "the response code",
        "p2_ms": "the P2 it states in ms", "p2_star_ms": "the P2* it states in ms", "evidence": "its evidence",
    },
    facts.ServiceFact: {
        "service": "its number", "name": "its name", "asked": "how often it was asked",
        "positive": "how often it answered", "codes": "what it refused with", "silent": "how often it was silent",
        "sub_functions": "the sub-functions it answered", "evidence": "its evidence",
    },
    facts.IdentifierFact: {
        "service": "its service", "identifier": "its number", "name": "its name", "value": "its last value",
        "length": "its length", "values": "how many values it had", "text": "its value in words", "unit": "its unit",
        "code": "what it is refused with", "evidence": "its evidence",
    },
    facts.CodeFormat: {
        "request": "their request", "bytes_per_code": "the bytes of a code", "availability": "the status bits it keeps",
        "codes": "the codes", "evidence": "their evidence",
    },
    facts.Spread: {
        "count": "how often it was measured", "least_us": "the least in us", "median_us": "the median in us",
        "p95_us": "what 95 % stay within in us", "most_us": "the most in us",
    },
    facts.Habits: {
        "answer": "how soon it answers", "pending": "how often it asked for time",
        "pending_most": "how often it asked for time in one exchange", "pending_gap": "how soon after asking for time",
        "kept_alive": "what kept it alive", "kept_alive_ms": "how often it was kept alive in ms",
        "longest_pause_ms": "the longest pause that a session outlived in ms",
    },
    facts.Observed: {
        "runs": "the runs seen", "ended": "the runs seen to their end", "shortest_ms": "the shortest run in ms",
        "longest_ms": "the longest run in ms", "seconds": "the seconds asked for", "rest_ms": "the shortest rest in ms",
        "refused_rest_ms": "the longest rest after which it was refused as too soon in ms",
        "session": "the session it ran in",
        "functional": "whether it was sent to all at once", "needs": "the services used before it",
        "varied": "what varied unexplained", "refusals": "the refusals of its start",
        "pending_ms": "how long it asked for time in ms",
    },
    facts.Run: {"start_ns": "its start", "request": "its request", "ms": "its length in ms"},
    facts.Candidate: {
        "id": "its id", "start": "its start", "stop": "its stop", "results": "its results request",
        "observed": "observed", "runs": "its runs",
        "refused_ns": "when its start was refused", "said": "what was said meanwhile",
        "never": "what forbids sending it", "evidence": "its evidence",
    },
    model.AddressPair: {
        "request": "the address of its requests", "answer": "the address of its answers", "bits": "the bits of it",
        "functional": "the address of all", "transport": "its transport", "extension": "the address byte",
        "request_extension": "the address byte of its requests", "header": "the form of its headers",
    },
    model.Timing: {
        "p2_ms": "P2", "p2_star_ms": "P2*", "s3_ms": "S3", "keep_alive": "what keeps a session",
    },
    model.ConditionRead: {
        "name": "its name", "identifier": "its identifier", "offset": "where it begins", "length": "its length",
        "numerator": "its numerator", "denominator": "its denominator", "unit": "its unit", "names": "its names",
    },
    model.WireCommand: {
        "id": "its name", "words": "what it does", "start": "its start", "stop": "its stop",
        "results": "its results request", "session": "its session", "longest_s": "its longest run in s",
        "cool_down_s": "its cool-down in s", "budget_ms": "how long it may ask for time in ms",
        "on_stop": "what a stop does", "on_lost_session": "what a lost session does",
        "on_lost_supply": "what a lost supply does", "origin": "its origin", "preconditions": "its preconditions",
        "observed": "observed", "evidence": "its evidence",
    },
    model.Identification: {"identifier": "its number", "value": "its value"},
    model.FunctionalFact: {
        "request": "its address", "bits": "its bits", "extension": "its address byte", "asked": "what was asked there",
    },
    model.ProtocolMap: {
        "format": "its format", "id": "what the shop calls it", "title": "its title", "source": "its source",
        "invented": "whether it is invented for practice", "address": "its address", "timing": "its times",
        "identification": "its identification", "conditions": "its conditions", "wire_commands": "its wire commands",
        "sessions": "its sessions", "services": "its services", "identifiers": "its identifiers",
        "codes": "its trouble codes", "habits": "its habits", "candidates": "what was heard",
        "evidence": "its evidence",
    },
    model.VehicleMap: {
        "format": "its format", "id": "what the shop calls it", "title": "its title", "source": "its source",
        "invented": "whether it is invented for practice", "units": "its units",
        "functional": "its functional addresses", "silent": "the addresses that were silent",
        "evidence": "its evidence",
    },
}  # fmt: skip


def changed(was: Any, now: Any, keys: Iterable[str] = ()) -> Iterator[str]:
    """Say what of two facts of one kind is not the same: of `keys`, or of all there are."""
    labels = LABELS[type(now)]
    for key in keys or labels:
        old, new = getattr(was, key), getattr(now, key)
        if old == new:
            continue
        if isinstance(old, msgspec.Struct) and isinstance(new, msgspec.Struct):
            yield from (f"{labels[key]}: {text}" for text in changed(old, new))
        elif key == "runs" and isinstance(old, tuple) and len(old) == len(new):
            for number, (one, other) in enumerate(zip(old, new, strict=True), 1):
                yield from (f"run {number}: {text}" for text in changed(one, other))
        else:
            yield f"{labels[key]} is {said(new)}; it was {said(old)}"


def said(value: Any) -> str:
    """Say a value in words."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value in (None, "", (), {}):
        return "none"
    if isinstance(value, facts.Observed):
        return words.observed(value)
    if isinstance(value, facts.Spread):
        return words.spread(value)
    if isinstance(value, facts.Evidence):
        return f"{value.how} {value.source}".strip()
    if isinstance(value, dict):
        return ", ".join(f"{key} x{count}" if isinstance(count, int) else f"{key} {count}"
                         for key, count in value.items())  # fmt: skip
    if isinstance(value, tuple):
        return f"{len(value)} runs" if isinstance(value[0], facts.Run) else ", ".join(map(str, value))
    return str(value)

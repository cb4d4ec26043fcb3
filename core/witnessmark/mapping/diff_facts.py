"""What differs between the learned facts of two maps of one unit: sessions, services, identifiers, codes, habits.

Two maps flow in, differences flow out. Rules that hold here: what only one of them knows is told apart from what
differs; so are counts, moments and names, which differ each time that somebody looks.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Literal, NamedTuple, TypeVar

from witnessmark.mapping import words
from witnessmark.mapping.facts import CodeFormat, IdentifierFact, ServiceFact
from witnessmark.mapping.labels import changed
from witnessmark.mapping.model import ProtocolMap

Kind = Literal["differs", "one knows", "beside"]
Fact = TypeVar("Fact")
SESSION_NOW = "F186"
"""activeDiagnosticSession (ISO 14229-1, annex C.1): the session of whoever asks, and nothing of the unit."""
_HEX = re.compile(r"[0-9A-F]{4,}")


class Told(NamedTuple):
    """A sentence. `differs`: in what it speaks; `one knows`: no difference, as the other does not say; `beside`: names,
    sources, counts, moments and measured spans."""

    text: str
    kind: Kind = "differs"


def fact_differences(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    """Yield what differs in what was learned of a unit."""
    yield from _sessions(before, after)
    yield from _services(before, after)
    yield from _identifiers(before, after)
    yield from _codes(before, after)
    yield from _candidates(before, after)
    was, now = before.habits, after.habits
    if was is None or now is None:
        if was != now:
            yield Told(f"only the {'first' if now is None else 'second'} map knows how it keeps time", "one knows")
    else:
        yield from beside("habits", changed(was, now))


def beside(name: str, texts: Iterable[str]) -> Iterator[Told]:
    """Tell what is beside the point, each with the name of what it is about."""
    yield from (Told(f"{name}: {text}", "beside") for text in texts)


def pairs(
    kind: str,
    before: Iterable[Fact],
    after: Iterable[Fact],
    name: Callable[[Fact], str],
    found: list[tuple[Fact, Fact]],
) -> Iterator[Told]:
    """Put what both know into `found`, and tell in one sentence for each map what it alone knows."""
    old, new = {name(one): one for one in before}, {name(one): one for one in after}
    for which, ours, theirs in (("first", old, new), ("second", new, old)):
        alone = [one for one in ours if one not in theirs]
        if alone:
            what = kind if len(alone) == 1 or kind.endswith(" by") else f"{kind}s"
            yield Told(f"only the {which} map knows {what} {', '.join(_ranges(alone))}", "one knows")
    found += [(old[one], new[one]) for one in old if one in new]


def _ranges(names: list[str]) -> list[str]:
    """Write three or more identifiers that follow each other as one range: `22 F180-F19F`."""
    found: list[list[str]] = []
    for name in names:
        if found and _follows(found[-1][-1], name):
            found[-1].append(name)
        else:
            found.append([name])
    return [text for run in found
            for text in ([f"{run[0]}-{run[-1].rpartition(' ')[2]}"] if len(run) > 2 else run)]  # fmt: skip


def _follows(before: str, name: str) -> bool:
    (service, _, first), (other, _, second) = before.partition(" "), name.partition(" ")
    return service == other and _HEX.fullmatch(first + second) is not None and int(second, 16) == int(first, 16) + 1


def _sessions(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    both: list[Any] = []
    yield from pairs("session", before.sessions, after.sessions, lambda one: f"{one.session:02X}", both)
    for was, now in both:
        name = f"session {words.session(now.session, now.name)}"
        if was.answer != now.answer:
            yield Told(f"{name}: {now.answer}; it was {was.answer}")
        yield from (Told(f"{name}: {text}") for text in changed(was, now, ("code", "p2_ms", "p2_star_ms")))
        yield from beside(name, changed(was, now, ("name", "evidence")))


def _services(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    both: list[tuple[ServiceFact, ServiceFact]] = []
    yield from pairs("service", before.services, after.services, lambda one: one.service, both)
    for was, now in both:
        name = f"service {now.service} {now.name}"
        old, new = words.service(was), words.service(now)
        if old != new and words.is_known(old) and words.is_known(new):
            yield Told(f"{name}: {new}; it was: {old}")
        elif old != new:
            which, state = ("second", new) if words.is_known(new) else ("first", old)
            yield Told(f"only the {which} map knows of {name}: {state}", "one knows")
        for which, ours, theirs in (("first", was, now), ("second", now, was)):
            alone = [one for one in ours.sub_functions if one not in theirs.sub_functions]
            if alone:
                yield Told(f"only the {which} map knows {name} with sub-function {', '.join(alone)}", "one knows")
        if set(was.sub_functions) == set(now.sub_functions):
            yield from beside(name, changed(was, now, ("sub_functions",)))
        yield from beside(name, changed(was, now, ("name", "asked", "positive", "codes", "silent", "evidence")))


def _identifiers(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    both: list[tuple[IdentifierFact, IdentifierFact]] = []
    yield from pairs(
        "identifier", before.identifiers, after.identifiers, lambda one: f"{one.service} {one.identifier}", both
    )
    bound = {one.identifier: one.value for one in before.identification}
    told = {one.identifier for one in after.identification if bound.get(one.identifier, one.value) != one.value}
    for was, now in both:
        name = f"{now.service} {now.identifier} {now.name}".strip()
        told_already = now.service == "22" and now.identifier in told
        if bool(was.values) != bool(now.values):
            yield Told(f"{name} is {'read' if now.values else 'refused'}; it was {'read' if was.values else 'refused'}")
        elif was.length != now.length and not told_already:
            yield Told(f"{name} has {now.length} bytes; it had {was.length}")
        elif was.value != now.value and not told_already:
            lasting = was.values <= 1 and now.values <= 1 and now.identifier.startswith("F1")
            lasting = lasting and now.identifier != SESSION_NOW
            text = f"{name} is {words.identifier(now)}; it was {words.identifier(was)}"
            yield Told(text, "differs" if lasting else "beside")
        elif not now.values:
            yield from (Told(f"{name}: {text}") for text in changed(was, now, ("code",)))
        else:
            yield from beside(name, changed(was, now, ("code", "length")))
        yield from beside(name, changed(was, now, ("name", "text", "unit", "values", "evidence")))


def _codes(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    both: list[tuple[CodeFormat, CodeFormat]] = []
    yield from pairs("how it reports codes by", before.codes, after.codes, lambda one: one.request, both)
    for was, now in both:
        name = f"trouble codes by {now.request}"
        yield from (Told(f"{name}: {text}") for text in changed(was, now, ("bytes_per_code", "availability")))
        had, has = ({code.partition(" ")[0]: code.partition(" ")[2] for code in one.codes} for one in (was, now))
        if new := sorted(has.keys() - had.keys()):
            yield Told(f"new trouble codes by {now.request}: {', '.join(new)}")
        if gone := sorted(had.keys() - has.keys()):
            yield Told(f"trouble codes gone by {now.request}: {', '.join(gone)}")
        for code in sorted(has.keys() & had.keys()):
            if has[code] != had[code]:
                yield Told(f"{name}: the status of {code} is {has[code] or 'none'}; it was {had[code] or 'none'}")
        yield from beside(name, changed(was, now, ("evidence",) if had != has else ("codes", "evidence")))


def _candidates(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    both: list[Any] = []
    yield from pairs("candidate wire command", before.candidates, after.candidates, lambda one: str(one.id), both)
    for was, now in both:
        name = f"candidate {now.id}"
        yield from (Told(f"{name}: {text}") for text in changed(was, now, ("start", "stop", "results", "never")))
        yield from beside(name, changed(was, now, ("observed", "runs", "refused_ns", "said", "evidence")))

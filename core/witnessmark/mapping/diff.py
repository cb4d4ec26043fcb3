"""What differs between two maps, in words: two vehicles, or one before and after an update.

Two maps flow in, sentences flow out, in the order of the units' addresses. Rules that hold here: whatever key of the
document differs has its sentence; what one of them does not know is no difference, and is told apart; so are names,
sources, counts and moments; a changed identification is said first, because approvals end with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from witnessmark.mapping import words
from witnessmark.mapping.diff_facts import Kind, Told, beside, fact_differences, pairs
from witnessmark.mapping.labels import LABELS, changed
from witnessmark.mapping.model import FunctionalFact, ProtocolMap, VehicleMap, WireCommand
from witnessmark.mapping.silent import was_asked
from witnessmark.mapping.words import HEADERS

_NAMES = ("id", "title", "source", "invented", "evidence")
_TIMES = {"p2_ms": "P2", "p2_star_ms": "P2*", "s3_ms": "S3"}


class Difference(NamedTuple):
    """`unit` is the unit's address, empty for the vehicle; `text` a sentence; `kind` as `Told` has it."""

    unit: str
    text: str
    kind: Kind = "differs"


def differences(before: VehicleMap, after: VehicleMap) -> list[Difference]:
    """Return every difference from `before` to `after`."""
    found = [Difference("", one.text, one.kind) for one in _vehicle(before, after)]
    old, new = _placed(before), _placed(after)
    for place in sorted({*old, *new}):
        if place not in new:
            found.append(Difference(place[2], *_absent(old[place], after, "second")))
        elif place not in old:
            found.append(Difference(place[2], *_absent(new[place], before, "first")))
        else:
            found += [Difference(place[2], one.text, one.kind) for one in unit_differences(old[place], new[place])]
    return found


def unit_differences(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    """Yield what differs between two maps of one unit."""
    yield from _identification(before, after)
    yield from _address(before, after)
    yield from _timing(before, after)
    yield from fact_differences(before, after)
    yield from _conditions(before, after)
    yield from _commands(before, after)
    yield from beside("the map", changed(before, after, _NAMES))


def _vehicle(before: VehicleMap, after: VehicleMap) -> Iterator[Told]:
    both: list[tuple[FunctionalFact, FunctionalFact]] = []
    yield from pairs(
        "functional address", before.functional, after.functional,
        lambda one: f"{one.request} with {one.bits} bits" + (f", byte {one.extension}" if one.extension else ""), both,
    )  # fmt: skip
    for was, now in both:
        yield from beside(f"functional address {now.request}", changed(was, now, ("asked",)))
    for which, ours, theirs in (("first", before, after), ("second", after, before)):
        alone = [one for one in ours.silent if one not in theirs.silent]
        if alone:
            yield Told(f"only for the {which} map were asked, and were silent: {', '.join(alone)}", "one knows")
    yield from beside("the map of the vehicle", changed(before, after, _NAMES))


def _identification(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    old = {one.identifier: one.value for one in before.identification}
    new = {one.identifier: one.value for one in after.identification}
    differing = [name for name in sorted({*old} & {*new}) if old[name] != new[name]]
    for name in differing:
        yield Told(f"identification {name} is {words.value(new[name])}; it was {words.value(old[name])}")
    if differing:
        yield Told("what was approved for the first is not approved for the second: another unit or other software")
    yield from pairs("identification", before.identification, after.identification, lambda one: one.identifier, [])


def _address(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    was, now = words.address(before.address), words.address(after.address)
    if was != now and before.address.request and after.address.request:
        yield Told(f"its address was {was} and is {now}")
    elif was != now:
        which, known = ("second", now) if after.address.request else ("first", was)
        yield Told(f"only the {which} map knows where it is asked: {known}", "one knows")
    was, now = before.address.header, after.address.header
    if was != now and was and now:
        yield Told(f"the headers of its answers are {HEADERS[now]}; they were {HEADERS[was]}")
    elif was != now:
        yield Told(f"only the {'second' if now else 'first'} map knows its headers: {HEADERS[now or was]}", "one knows")
    was, now = before.address.functional, after.address.functional
    if was != now and was and now:
        yield Told(f"it is asked with all others on {now}; that was {was}")
    elif was != now:
        which = "second" if now else "first"
        yield Told(f"only the {which} map knows that it is asked with all others on {now or was}", "one knows")


def _timing(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    old, new = words.states_times(before), words.states_times(after)
    states = "it states" if new else "by the standard it has"
    for name, called in _TIMES.items():
        was, now = getattr(before.timing, name), getattr(after.timing, name)
        if was != now and old == new:
            yield Told(f"{states} {called} {now} ms; it was {was} ms")
        elif was != now:
            which, ms = ("second", now) if new else ("first", was)
            yield Told(f"only the {which} map knows what it states of itself: {called} {ms} ms", "one knows")
    yield from (Told(text) for text in changed(before.timing, after.timing, ("keep_alive",)))


def _conditions(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    old, new = {one.name: one for one in before.conditions}, {one.name: one for one in after.conditions}
    for name in sorted({*old, *new}):
        if name not in new:
            yield Told(f"how {name} is read is not in the second map")
        elif name not in old:
            yield Told(f"how {name} is read is only in the second map")
        else:
            yield from (Told(f"condition {name}: {text}") for text in changed(old[name], new[name]))


def _commands(before: ProtocolMap, after: ProtocolMap) -> Iterator[Told]:
    old = {one.id: one for one in before.wire_commands}
    new = {one.id: one for one in after.wire_commands}
    keys = tuple(key for key in LABELS[WireCommand] if key != "evidence")
    for name in sorted({*old, *new}):
        if name not in new:
            yield Told(f"wire command {name} is not in the second map")
        elif name not in old:
            yield Told(f"wire command {name} is only in the second map: {new[name].words}")
        else:
            yield from (Told(f"wire command {name}: {text}") for text in changed(old[name], new[name], keys))
            yield from beside(f"wire command {name}", changed(old[name], new[name], ("evidence",)))


def _absent(unit: ProtocolMap, other: VehicleMap, which: str) -> Told:
    """Say of a unit that the other map does not have whether it was silent there, or nobody asked it."""
    called = _called(unit, other)
    if was_asked(other.silent, unit.address.request):
        return Told(f"{called} was asked for the {which} map, and did not answer")
    how = other.evidence.how if other.evidence is not None else ""
    if how not in ("heard", "probed"):
        return Told(f"{called} is not in the {which} map, which does not say whether it was asked", "one knows")
    return Told(f"{called} was not {'heard' if how == 'heard' else 'asked'} for the {which} map", "one knows")


def _called(unit: ProtocolMap, other: VehicleMap) -> str:
    """Name a unit; with its transport where the other map has one on the same address over another."""
    address = unit.address
    alike = any(one.address.answer == address.answer for one in other.units)
    return words.unit(unit) + (f", {address.transport} with {address.bits} bits," if alike else "")


def _placed(vehicle: VehicleMap) -> dict[tuple[str, int, str, str, int], ProtocolMap]:
    """Units by where they answer; those that answer on one address of two buses are counted."""
    found: dict[tuple[str, int, str, str, int], ProtocolMap] = {}
    for one in vehicle.units:
        address = one.address
        place = (address.transport, address.bits, address.answer, address.extension)
        found[*place, sum(known[:4] == place for known in found)] = one
    return found

"""What differs between two maps, in words: two vehicles, or one before and after an update.

Two maps flow in, sentences flow out, in the order of the units' addresses. Rules that hold here: what one of them does
not know is no difference; a changed identification is said first, because approvals end with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from witnessmark.mapping import words
from witnessmark.mapping.model import ProtocolMap, VehicleMap


class Difference(NamedTuple):
    """`unit` is the unit's address, empty for the vehicle; `text` a sentence."""

    unit: str
    text: str


def differences(before: VehicleMap, after: VehicleMap) -> list[Difference]:
    """Return every difference from `before` to `after`."""
    found = []
    old = {_place(one): one for one in before.units}
    new = {_place(one): one for one in after.units}
    for place in sorted({*old, *new}):
        if place not in new:
            found.append(Difference(place[2], f"{words.unit(old[place])} is not in the second map"))
        elif place not in old:
            found.append(Difference(place[2], f"{words.unit(new[place])} is only in the second map"))
        else:
            found += [Difference(place[2], text) for text in unit_differences(old[place], new[place])]
    return found


def unit_differences(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    """Yield what differs between two maps of one unit."""
    yield from _identification(before, after)
    was, now = words.address(before.address), words.address(after.address)
    if was != now and before.address.request and after.address.request:
        yield f"its address was {was} and is {now}"
    was, now = before.address.functional, after.address.functional
    if was != now and was and now:
        yield f"it is asked with all others on {now}; that was {was}"
    for name, unit in (("p2_ms", "P2"), ("p2_star_ms", "P2*"), ("s3_ms", "S3")):
        old, new = getattr(before.timing, name), getattr(after.timing, name)
        if old != new and words.states_times(before) and words.states_times(after):
            yield f"it states {unit} {new} ms; it was {old} ms"
    yield from _sessions(before, after)
    yield from _services(before, after)
    yield from _identifiers(before, after)
    yield from _codes(before, after)
    yield from _commands(before, after)


def _identification(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    old = {one.identifier: one.value for one in before.identification}
    new = {one.identifier: one.value for one in after.identification}
    changed = [name for name in sorted({*old} & {*new}) if old[name] != new[name]]
    for name in changed:
        yield f"identification {name} is {words.value(new[name])}; it was {words.value(old[name])}"
    if changed:
        yield "what was approved for the first is not approved for the second: another unit or other software"


def _sessions(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    old = {one.session: one.answer for one in before.sessions}
    for one in after.sessions:
        if one.session in old and old[one.session] != one.answer:
            yield f"session {one.session:02X} {one.name}: {one.answer}; it was {old[one.session]}"


def _services(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    old = {one.service: one for one in before.services}
    for one in after.services:
        was, now = words.service(old.get(one.service)), words.service(one)
        if words.is_known(was) and words.is_known(now) and was != now:
            yield f"service {one.service} {one.name}: {now}; it was: {was}"


def _identifiers(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    bound = {one.identifier for one in (*before.identification, *after.identification)}
    old = {(one.service, one.identifier): one for one in before.identifiers}
    for one in after.identifiers:
        was = old.get((one.service, one.identifier))
        name = f"{one.service} {one.identifier} {one.name}".strip()
        if was is None or (one.service == "22" and one.identifier in bound):
            continue
        if bool(was.values) != bool(one.values):
            yield f"{name} is {'read' if one.values else 'refused'}; it was {'read' if was.values else 'refused'}"
        elif was.length != one.length:
            yield f"{name} has {one.length} bytes; it had {was.length}"
        elif was.value != one.value and was.values <= 1 and one.values <= 1 and one.identifier.startswith("F1"):
            yield f"{name} is {words.identifier(one)}; it was {words.identifier(was)}"


def _codes(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    old = {one.request: one for one in before.codes}
    for one in after.codes:
        was = old.get(one.request)
        if was is None:
            continue
        had, has = ({code.partition(" ")[0] for code in codes.codes} for codes in (was, one))
        if has - had:
            yield f"new trouble codes by {one.request}: {', '.join(sorted(has - had))}"
        if had - has:
            yield f"trouble codes gone by {one.request}: {', '.join(sorted(had - has))}"


def _commands(before: ProtocolMap, after: ProtocolMap) -> Iterator[str]:
    old = {one.id: one for one in before.wire_commands}
    new = {one.id: one for one in after.wire_commands}
    for name in sorted({*old, *new}):
        if name not in new:
            yield f"wire command {name} is not in the second map"
        elif name not in old:
            yield f"wire command {name} is only in the second map: {new[name].words}"
        else:
            for key in ("start", "stop", "results", "session", "longest_s", "cool_down_s", "on_stop",
                        "on_lost_session", "on_lost_supply", "words"):  # fmt: skip
                was, now = getattr(old[name], key), getattr(new[name], key)
                if was != now:
                    yield f"wire command {name}: {_KEYS.get(key, key)} is {now or 'none'}; it was {was or 'none'}"


_KEYS = {
    "start": "its start", "stop": "its stop", "results": "its results request", "session": "its session",
    "longest_s": "its longest run in s", "cool_down_s": "its cool-down in s", "on_stop": "what a stop does",
    "on_lost_session": "what a lost session does", "on_lost_supply": "what a lost supply does",
    "words": "what it does",
}  # fmt: skip


def _place(one: ProtocolMap) -> tuple[str, int, str, str]:
    return one.address.transport, one.address.bits, one.address.answer, one.address.extension

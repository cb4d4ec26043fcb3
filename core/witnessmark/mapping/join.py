"""Joining what two maps know of one vehicle: what a probe read and what listening learned, say.

Two maps flow in, one flows out. Rules that hold here: control units are joined by where they answer, and only where
both know the same of what identifies the unit, or the same number of the vehicle, or where a person says that it is one
vehicle; a value that differs refuses, whatever anybody says; each fact is taken whole from the map that knows more of
it, with its own evidence; what people put in is never dropped; only what is all practice data is called so, since that
may be approved by name only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple, TypeVar

import msgspec

from witnessmark.errors import InputError
from witnessmark.mapping import words
from witnessmark.mapping.facts import Candidate, Habits, IdentifierFact, ServiceFact, SessionFact, Spread
from witnessmark.mapping.joined_candidate import joined
from witnessmark.mapping.model import AddressPair, FunctionalFact, Identification, ProtocolMap, Timing, VehicleMap
from witnessmark.mapping.unit import BINDING

SERIAL, VIN = "F18C", "F190"
"""They identify the very unit and its vehicle (ISO 14229-1, annex C.1); a map is not bound to them."""
Fact = TypeVar("Fact")
Place = tuple[str, int, str, str]


class Joined(NamedTuple):
    """`by` says for each unit that both know, by the address of its answers, what both say of it; empty for nothing.

    `on_word`: such a one was joined as a person says so; else as another unit tells the same number of the vehicle.
    """

    vehicle: VehicleMap
    by: dict[str, tuple[str, ...]]
    on_word: bool


def join(first: VehicleMap, second: VehicleMap, *, one_vehicle: bool = False) -> Joined:
    """Return what both know. `one_vehicle`: a person says that both are of one vehicle, where nothing else does.

    Raises InputError, naming why, when they have no control unit in common, when one that they have in common is not
    the same, or when nothing shows that it is.
    """
    ours, theirs = _units(first), _units(second)
    both = [place for place in ours if place in theirs]
    if not both:
        raise InputError(
            f"they have no control unit in common: {_known(first)}, and {_known(second)}",
            place="join",
            hint="join maps of one vehicle: the same control unit answers on the same address",
        )
    by = {words.address(ours[place].address): shared(ours[place], theirs[place]) for place in both}
    unsure = [address for address, known in by.items() if not known]
    if any(VIN in known for known in by.values()):
        unsure = []
    if unsure and not one_vehicle:
        raise InputError(
            f"nothing that both know identifies {' or '.join(unsure)}: it may be of two vehicles",
            place="join",
            hint="listen again while the other tester reads its identification, or say that it is one: --one-vehicle",
        )
    said = ", one vehicle as a person says" if unsure else ""
    units = {place: join_units(ours[place], theirs[place], said) if place in theirs else ours[place] for place in ours}
    units |= {place: unit for place, unit in theirs.items() if place not in ours}
    vehicle = msgspec.structs.replace(
        first,
        source=_both(first.source, second.source) + said,
        invented=first.invented and second.invented,
        units=tuple(units[place] for place in sorted(units)),
        functional=_functional(first, second),
        silent=tuple(dict.fromkeys((*first.silent, *second.silent))),
    )
    return Joined(vehicle, by, bool(unsure))


def shared(first: ProtocolMap, second: ProtocolMap) -> tuple[str, ...]:
    """Return the identifiers whose value both know. Raises InputError for one that differs: those are two units."""
    ours, theirs = _identity(first), _identity(second)
    for unit in (first, second):
        changed = [one.identifier for one in unit.identifiers
                   if one.service == "22" and one.values > 1 and one.identifier in (*BINDING, VIN, SERIAL)]  # fmt: skip
        if changed:
            raise InputError(
                f"{changed[0]} of {words.address(unit.address)} changed while it was learned: {unit.source}",
                place="join",
                hint="learn it anew after the update, and join that",
            )
    for identifier in ours:
        if identifier in theirs and ours[identifier] != theirs[identifier]:
            was, now = words.value(ours[identifier]), words.value(theirs[identifier])
            raise InputError(
                f"{words.address(first.address)} is another unit, vehicle or software in the second map: "
                f"{identifier} is {was} in the first and {now} in the second",
                place="join",
                hint="join maps of one vehicle, both from before or both from after an update",
            )
    return tuple(sorted(ours.keys() & theirs.keys()))


def join_units(first: ProtocolMap, second: ProtocolMap, said: str = "") -> ProtocolMap:
    """Return what two maps of one control unit know of it; `said` goes to its source.

    Raises InputError where they contradict each other.
    """
    sessions = _facts(first.sessions, second.sessions, lambda one: one.session, _of_session)
    learned = first.evidence is not None and second.evidence is not None
    return msgspec.structs.replace(
        first,
        source=_both(first.source, second.source) + said,
        invented=first.invented and second.invented,
        address=_address(first.address, second.address),
        timing=_timing(first, second, sessions),
        identification=_identification(first, second),
        conditions=_said("condition", first.conditions, second.conditions, lambda one: one.name),
        wire_commands=_said("wire command", first.wire_commands, second.wire_commands, lambda one: one.id),
        sessions=sessions,
        services=_facts(first.services, second.services, lambda one: one.service, _of_service),
        identifiers=_facts(
            first.identifiers, second.identifiers, lambda one: (one.service, one.identifier), _of_identifier
        ),
        codes=_facts(first.codes, second.codes, lambda one: one.request, lambda one: 0),
        habits=_habits(first.habits, second.habits),
        candidates=_candidates(first, second),
        evidence=first.evidence if learned else None,
    )


def _units(vehicle: VehicleMap) -> dict[Place, ProtocolMap]:
    found: dict[Place, ProtocolMap] = {}
    for unit in vehicle.units:
        place = (unit.address.transport, unit.address.bits, unit.address.answer, unit.address.extension)
        if place in found:
            raise InputError(
                f"two control units answer on {unit.address.answer} in {vehicle.source}",
                place="join",
                hint="take the one that is meant out of it first, or listen to one bus alone",
            )
        found[place] = unit
    return found


def _known(vehicle: VehicleMap) -> str:
    return ", ".join(words.address(one.address) for one in vehicle.units) or "none in one"


def _identity(unit: ProtocolMap) -> dict[str, str]:
    read = {one.identifier: one.value for one in unit.identifiers
            if one.service == "22" and one.values == 1 and one.identifier in (VIN, SERIAL)}  # fmt: skip
    return {**read, **{one.identifier: one.value for one in unit.identification}}


def _both(first: str, second: str) -> str:
    return first if first == second else f"{first}; {second}"


def _address(first: AddressPair, second: AddressPair) -> AddressPair:
    """Fill in what one of them does not know."""
    was, now = words.address(first), words.address(second)
    if was != now and first.request and second.request:
        raise InputError(
            f"a control unit is {was} in the first map and {now} in the second",
            place="join",
            hint="these are two control units, or two buses: join maps of one",
        )
    asked = first if first.request else second
    return msgspec.structs.replace(
        first,
        request=asked.request,
        request_extension=asked.request_extension,
        functional=first.functional or second.functional,
        header=first.header or second.header,
    )


def _identification(first: ProtocolMap, second: ProtocolMap) -> tuple[Identification, ...]:
    values = {one.identifier: one.value for one in (*first.identification, *second.identification)}
    return tuple(Identification(identifier, values[identifier]) for identifier in sorted(values))


def _timing(first: ProtocolMap, second: ProtocolMap, sessions: Iterable[SessionFact]) -> Timing:
    """Those that somebody wrote; else those of the highest session that states any, as learning does it."""
    for one in (first, second):
        if one.evidence is None:
            return one.timing
    stated = [one for one in sessions if one.p2_ms]
    if not stated:
        return first.timing
    highest = max(stated, key=lambda one: one.session)
    return msgspec.structs.replace(first.timing, p2_ms=highest.p2_ms, p2_star_ms=highest.p2_star_ms or 5000)


def _facts(
    first: tuple[Fact, ...], second: tuple[Fact, ...], key: Callable[[Fact], object], rank: Callable[[Fact], int]
) -> tuple[Fact, ...]:
    """Take each fact from who knows more of it, from the first where they know as much."""
    best = {key(one): one for one in first}
    for one in second:
        known = best.get(key(one))
        if known is None or rank(one) > rank(known):
            best[key(one)] = one
    return tuple(best[name] for name in sorted(best, key=str))


def _of_service(one: ServiceFact) -> int:
    return 3 if one.positive else 2 if words.refusals(one) else 1 if one.silent else 0


def _of_session(one: SessionFact) -> int:
    return {"positive": 2, "refused": 1, "silent": 0}[one.answer]


def _of_identifier(one: IdentifierFact) -> int:
    return 1 if one.values else 0


def _said(kind: str, first: tuple[Fact, ...], second: tuple[Fact, ...], key: Callable[[Fact], str]) -> tuple[Fact, ...]:
    """Take all; two of one name must be the same, for neither may be dropped."""
    names = {key(one): one for one in first}
    for one in second:
        if names.setdefault(key(one), one) != one:
            raise InputError(
                f"both have a {kind} {key(one)}, and they are not the same",
                place="join",
                hint="take it out of one of them, or name it in one of them first",
            )
    return tuple(names.values())


def _candidates(first: ProtocolMap, second: ProtocolMap) -> tuple[Candidate, ...]:
    """Join those whose bytes are the same; of the rest two of one name must be the same, as of all that is said."""
    address, theirs = _address(first.address, second.address), {one.id: one for one in second.candidates}
    ours = {}
    for one in first.candidates:
        other = theirs.get(one.id)
        both = joined(one, other, address) if other is not None and other != one else None
        ours[one.id] = both or one
        if both is not None:
            theirs[one.id] = both
    return _said("candidate", tuple(ours.values()), tuple(theirs.values()), lambda one: one.id)


def _habits(first: Habits | None, second: Habits | None) -> Habits | None:
    """Take each measurement from who measured it more often."""
    if first is None or second is None:
        return first or second
    asks = max(first, second, key=lambda one: one.pending)
    kept = first if first.kept_alive_ms is not None or not second.kept_alive else second
    return Habits(
        answer=max(first.answer, second.answer, key=_count),
        pending=asks.pending,
        pending_most=asks.pending_most,
        pending_gap=asks.pending_gap,
        kept_alive=kept.kept_alive,
        kept_alive_ms=kept.kept_alive_ms,
        longest_pause_ms=max(first.longest_pause_ms or 0, second.longest_pause_ms or 0) or None,
    )


def _count(spread: Spread | None) -> int:
    return 0 if spread is None else spread.count


def _functional(first: VehicleMap, second: VehicleMap) -> tuple[FunctionalFact, ...]:
    found = {(one.bits, one.request, one.extension): one for one in (*second.functional, *first.functional)}
    return tuple(found[place] for place in sorted(found))

"""Naming a candidate: what another tester used becomes a wire command of the map, described by a person.

A map, a candidate's id and what a person says of it flow in, a map with one wire command more flows out. Rules that
hold here: no run may be longer than the longest that was seen, no cool-down shorter than the shortest after which it
started again, nor one after which it was refused as too soon; what is never sent can be named too, and stays never
sent; a name is one that a procedure can write, and wire commands of two control units never come into one map.
"""

from __future__ import annotations

import re

import msgspec

from witnessmark.errors import InputError
from witnessmark.mapping.facts import Candidate
from witnessmark.mapping.load import HOLE, pick
from witnessmark.mapping.model import ProtocolMap, VehicleMap, WireCommand
from witnessmark.mapping.words import address

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")


def find(unit: ProtocolMap, id_: str) -> Candidate:
    """Return a candidate by its id. Raises InputError naming those there are."""
    for one in unit.candidates:
        if one.id == id_:
            return one
    known = ", ".join(one.id for one in unit.candidates) or "none"
    raise InputError(f"there is no candidate {id_!r}", place="candidate", hint=f"this unit has: {known}")


def unit_of(vehicle: VehicleMap, candidate: str, answer: str = "") -> ProtocolMap:
    """Return the unit that answers on `answer` (hex), or the only one that has `candidate` when it is empty.

    Raises InputError naming the units that there are, or those that have it.
    """
    having = [one for one in vehicle.units if any(known.id == candidate for known in one.candidates)]
    if answer or len(vehicle.units) < 2:
        return pick(vehicle, answer)
    if not having:
        known = [f"{one.id} ({each.address.answer})" for each in vehicle.units for one in each.candidates]
        raise InputError(
            f"no control unit has a candidate {candidate!r}",
            place="candidate",
            hint=f"there are: {', '.join(known) or 'none'}",
        )
    if len(having) > 1:
        units = ", ".join(one.address.answer for one in having)
        raise InputError(
            f"{len(having)} control units have a candidate {candidate}: {units}",
            place="unit",
            hint=f"say which by the address of its answers: --unit {having[0].address.answer}",
        )
    return having[0]


def name(
    unit: ProtocolMap,
    candidate: str,
    id_: str,
    words: str,
    *,
    longest_s: int | None = None,
    cool_down_s: int | None = None,
    on_stop: str = "not known",
    on_lost_session: str = "not known",
    on_lost_supply: str = "not known",
    preconditions: tuple[str, ...] = (),
) -> ProtocolMap:
    """Return the map with `candidate` as the wire command `id_`.

    `longest_s` is the longest observed, in whole seconds, unless given; `cool_down_s` the shortest observed. Raises
    InputError for a run longer or a cool-down shorter than was observed, a cool-down after which it was refused as too
    soon, an id that is taken or no name, no words, or a precondition that the map cannot read.
    """
    one = find(unit, candidate)
    if not _NAME.fullmatch(id_):
        raise InputError(
            f"{id_!r} is no name that a pass of a procedure can carry",
            place="wire command",
            hint="use letters, digits, dot, dash and underscore, at most 64, like purge-rear; --words says it in words",
        )
    if not words.strip():
        raise InputError("nothing says what it does", place="words", hint="say it for people: --words")
    if any(known.id == id_ for known in unit.wire_commands):
        raise InputError(f"{id_!r} is taken", place="wire command", hint="choose another id")
    unknown = set(preconditions) - {known.name for known in unit.conditions}
    if unknown:
        raise InputError(
            f"the map reads no condition {sorted(unknown)[0]!r}", place="preconditions", hint="add it to the map first"
        )
    if one.observed.session is not None and one.observed.session > 0x7F:
        raise InputError(
            f"it ran in session {one.observed.session:02X} of ISO 14230-3, which is not entered from here",
            place=candidate,
            hint="only those of ISO 14229-1 are, 01 to 7F: with bit 7 set a session request asks for no answer there",
        )
    command = WireCommand(
        id=id_,
        words=words,
        start=_start(one),
        stop=one.stop,
        results=one.results,
        session=one.observed.session or 1,
        longest_s=_longest(one, longest_s),
        cool_down_s=_cool_down(one, cool_down_s),
        budget_ms=max(5_000, 2 * one.observed.pending_ms),
        on_stop=on_stop,
        on_lost_session=on_lost_session,
        on_lost_supply=on_lost_supply,
        origin="learned",
        preconditions=preconditions,
        observed=one.observed,
        evidence=one.evidence,
    )
    left = tuple(other for other in unit.candidates if other.id != candidate)
    return msgspec.structs.replace(unit, wire_commands=(*unit.wire_commands, command), candidates=left)


def add(kept: ProtocolMap, named: ProtocolMap) -> ProtocolMap:
    """Return `kept` with the wire command that was named last in `named`, and without its candidate.

    Raises InputError unless both are maps of one control unit, and for a name that `kept` has already.
    """
    was, now = address(kept.address), address(named.address)
    if (was, kept.address.bits, kept.address.transport) != (now, named.address.bits, named.address.transport):
        raise InputError(f"holds the map of another control unit: {was}, and this is {now}", place="output", hint=_ELSE)
    if kept.identification != named.identification:
        raise InputError(
            f"holds the map of another control unit, or of one about which more or less is known: both are {now}, and "
            "they identify themselves differently",
            place="output",
            hint=f"join what is known of one unit first: `witnessmark protocol join`; or {_ELSE}",
        )
    command = named.wire_commands[-1]
    if any(one.id == command.id for one in kept.wire_commands):
        raise InputError(f"{command.id!r} is taken there", place="wire command", hint="choose another name")
    candidates = tuple(one for one in kept.candidates if one.start != command.start)
    return msgspec.structs.replace(kept, wire_commands=(*kept.wire_commands, command), candidates=candidates)


_ELSE = "choose another --output, or write over it with --force"


def _start(one: Candidate) -> str:
    if ".." in one.start:
        why = "; ".join(one.observed.varied)
        raise InputError(
            f"its start varies in a way nobody explained: {one.start}",
            place=f"candidate {one.id}",
            hint=f"{why}: it stays a candidate, and is never sent",
        )
    if not one.stop:
        raise InputError(
            "no request that stops it was heard", place=f"candidate {one.id}", hint="listen to a run to its end"
        )
    return one.start


def _longest(one: Candidate, wanted_s: int | None) -> int:
    observed = one.observed
    seen_s = (observed.longest_ms or 0) // 1000
    if HOLE in one.start and observed.seconds:
        seen_s = min(seen_s, max(observed.seconds))
    if seen_s < 1:
        raise InputError(
            "no run of a second or more was seen to its end",
            place=f"candidate {one.id}",
            hint="listen to a whole run first",
        )
    if wanted_s is not None and not 1 <= wanted_s <= seen_s:
        raise InputError(
            f"{wanted_s} s is longer than what was seen", place="longest", hint=f"the longest seen: {seen_s} s"
        )
    return seen_s if wanted_s is None else wanted_s


def _cool_down(one: Candidate, wanted_s: int | None) -> int:
    seen_s = None if one.observed.rest_ms is None else -(-one.observed.rest_ms // 1000)
    if wanted_s is None:
        if seen_s is None:
            raise InputError(
                "no pause between two runs was seen", place="cool-down", hint="say how long it must rest: --cool-down"
            )
        return seen_s
    if seen_s is not None and wanted_s < seen_s:
        raise InputError(
            f"{wanted_s} s is shorter than the shortest pause seen",
            place="cool-down",
            hint=f"the shortest after which it started again: {seen_s} s",
        )
    too_soon_ms = one.observed.refused_rest_ms
    if seen_s is None and too_soon_ms is not None and wanted_s * 1000 <= too_soon_ms:
        raise InputError(
            f"after {too_soon_ms} ms it was refused as too soon, and {wanted_s} s is no longer than that",
            place="cool-down",
            hint=f"say how long it must rest: {too_soon_ms // 1000 + 1} s or more",
        )
    return wanted_s

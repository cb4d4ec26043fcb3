"""What the maps that are approved for one control unit say of one wire command, held against each other.

Approval entries and a map flow in; nothing, or why not, flows out. Rule that holds here: a map that lets a wire command
run longer, or rest shorter, than another map does that is approved for the same control unit is not approved beside it;
who knows better withdraws that one first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple

from witnessmark.errors import LocalError
from witnessmark.job.allowed.approval import same_unit, standing
from witnessmark.journal.entry import Entry
from witnessmark.journal.permission import Limits
from witnessmark.mapping.load import digest
from witnessmark.mapping.model import ProtocolMap, WireCommand


class Other(NamedTuple):
    """A wire command of the map, and what approval entry `seq` has of the same request in another map."""

    command: WireCommand
    seq: int
    limits: Limits


def require_as_strict(entries: Iterable[Entry], map_: ProtocolMap, wanted: Collection[str]) -> None:
    """Raise LocalError, naming both values and the entry, where a map in force is stricter with one of `wanted`."""
    for command, seq, limits in _others(entries, map_, wanted):
        for ours, theirs, what in (
            (-command.cool_down_s, -limits.cool_down_s, "of rest after a run"),
            (command.longest_s, limits.longest_s, "for a run"),
        ):
            if ours > theirs:
                raise LocalError(
                    f"{command.id}: this map has {abs(ours)} s {what}, and another map of the same control unit, "
                    f"approved in entry {seq}, has {abs(theirs)} s",
                    hint=f"write {abs(theirs)} s into this map; where {abs(ours)} s is right, end what is approved of "
                    "this unit first: `witnessmark protocol withdraw MAP`",
                )


def looser(entries: Iterable[Entry], map_: ProtocolMap, wanted: Collection[str]) -> Iterator[str]:
    """Say which maps in force let one of `wanted` run longer or rest shorter than this one: they go on to hold."""
    for command, seq, limits in _others(entries, map_, wanted):
        if limits.cool_down_s < command.cool_down_s or limits.longest_s > command.longest_s:
            yield (
                f"STILL APPROVED in entry {seq}, with another map of the same control unit: {command.id} for at most "
                f"{limits.longest_s} s, then {limits.cool_down_s} s of rest"
            )


def _others(entries: Iterable[Entry], map_: ProtocolMap, wanted: Collection[str]) -> Iterator[Other]:
    own = digest(map_)
    for name, many in standing(entries).items():
        for one in many if name != own else ():
            if same_unit(one.body, map_):
                for start, limits in one.body.limits.items():
                    yield from (
                        Other(command, one.seq, limits)
                        for command in map_.wire_commands
                        if command.id in wanted and _acts_on(command.start) == _acts_on(start)
                    )


def _acts_on(start: str) -> str:
    """Return the routine or the output that a start request names, by which two maps mean the same whatever follows."""
    return start[: 8 if start.startswith("31") else 6].upper()

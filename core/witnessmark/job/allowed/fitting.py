"""Whether a map's wire commands can be sent at all and are asked about: said when documents come together.

A map, the wire commands meant and a procedure flow in; nothing, or why not, flows out. Rules that hold here: what would
be refused before every send is refused when it is approved and when a job is opened, by the same rules; a precondition
of a wire command that nothing reads and nobody asks would hold nothing, so it refuses.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from witnessmark.errors import InputError, LocalError
from witnessmark.job.unit.condition import STANDING
from witnessmark.mapping import never_sent
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.procedure.model import Procedure
from witnessmark.wire.can_id import is_functional


def require_sendable(map_: ProtocolMap, wanted: Collection[str], *, hint: str) -> None:
    """Raise LocalError, naming the wire command and why, when one of `wanted` is never sent."""
    for one in _meant(map_, wanted):
        never = never_sent.reasons(one, map_.address)
        if never:
            raise LocalError(f"{one.id} is never sent: {never[0].why}", hint=hint)


def require_asked(map_: ProtocolMap, wanted: Collection[str], procedure: Procedure | None) -> None:
    """Raise InputError when a precondition of one of `wanted` is asked by nobody.

    With a procedure it is one of its own, or the standstill that is always asked; without, one that the map reads.
    """
    if procedure is None:
        asked, where = {one.name for one in map_.conditions}, "the map reads nothing of that name"
    else:
        asked, where = {one.name for one in procedure.preconditions}, "the procedure asks nothing of that name"
    for one in _meant(map_, wanted):
        for name in _unasked(one, asked):
            raise InputError(
                f"{one.id} has the precondition {name!r}, and {where}",
                place="map, preconditions",
                hint=f"there are: {', '.join(sorted(asked)) or 'none'}; one that nobody asks holds nothing",
            )


def unasked(procedure: Procedure, command: WireCommand) -> str:
    """Say which precondition of a wire command is read and asked by nobody in this procedure; empty for none."""
    name = next(_unasked(command, {one.name for one in procedure.preconditions}), "")
    return f"{command.id} has the precondition {name!r}, and the procedure asks nothing of that name" if name else ""


def _unasked(command: WireCommand, asked: Collection[str]) -> Iterator[str]:
    return (name for name in command.preconditions if name not in asked and name != STANDING)


def require_described(map_: ProtocolMap, wanted: Collection[str]) -> None:
    """Raise InputError for a wire command without words, or a learned map's address for all that no standard gives."""
    for one in _meant(map_, wanted):
        if not one.words.strip():
            raise InputError(
                f"nothing says what {one.id} does",
                place="map, words",
                hint="say it for people: it stands on the screen",
            )
    address = map_.address
    learned = map_.evidence is not None or any(one.origin == "learned" for one in map_.wire_commands)
    if learned and address.functional and address.transport == "iso15765-2":
        number = int(address.functional, 16)
        if not is_functional(number, address.bits == 29):
            raise InputError(
                f"{address.functional} is no address that a standard gives to all control units, and listening learns "
                "no other",
                place="map, address, functional",
                hint="write the one that was learned, or none",
            )


def _meant(map_: ProtocolMap, wanted: Collection[str]) -> Iterator[WireCommand]:
    return (one for one in map_.wire_commands if one.id in wanted)

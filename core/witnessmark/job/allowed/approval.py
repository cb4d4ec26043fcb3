"""Who allowed a wire command for which control unit: the approval entry, found again before every send.

Entries flow in, the approval that holds flows out. Rules that hold here: it binds to the map's digest and to
identification values, so that a changed map or a software update voids it; the latest word counts, so that withdrawing
works at once; only a lead gives it, and anybody may end it, for nothing that is sent less can hurt; one that was given
by name only is enough for practice data on a practice vehicle, and for nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from witnessmark.clock import NS
from witnessmark.errors import InputError, LocalError
from witnessmark.journal.bodies import to_body
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.permission import Approval, Limits
from witnessmark.journal.unfit import HINT, fitting, unfit
from witnessmark.mapping import words
from witnessmark.mapping.load import digest
from witnessmark.mapping.model import ProtocolMap
from witnessmark.people.person import Person, require_lead

SOFTWARE = frozenset({"F181", "F188", "F189", "F194", "F195"})
"""The identifiers that tell a unit's software or its version (ISO 14229-1, annex C.1)."""


class Withdrawn(LocalError):
    """An approval that held when it was armed holds no longer. Nothing was sent."""


@dataclass(frozen=True, slots=True)
class Approved:
    """An approval that holds, the entry it stands in, and who gave it when, in words."""

    seq: int
    body: Approval
    given: str = ""


def approve(person: Person, protocol_map: ProtocolMap, wire_commands: Iterable[str] = (), why: str = "") -> Draft:
    """Return the draft by which a lead allows `wire_commands` (all when none is named) for the map's control unit.

    Raises LocalError when `person` is no lead, InputError for a command the map does not have or a map that identifies
    no control unit.
    """
    require_lead(person, "approve a wire command")
    known = [one.id for one in protocol_map.wire_commands]
    wanted = tuple(wire_commands) or tuple(known)
    for name in wanted:
        if name not in known:
            raise InputError(
                f"the map has no wire command {name!r}", place="approval", hint=f"it has: {', '.join(known)}"
            )
    if not protocol_map.identification:
        raise InputError("the map identifies no control unit", place="approval", hint="add identification values")
    body = Approval(
        map_digest=digest(protocol_map),
        identification=_identification(protocol_map),
        wire_commands=wanted,
        why=why,
        unit=protocol_map.address.answer,
        limits={
            one.start: Limits(longest_s=one.longest_s, cool_down_s=one.cool_down_s)
            for one in protocol_map.wire_commands
            if one.id in wanted
        },
    )
    return Draft("approval", None, person.actor, body=to_body(body))


def withdraw(person: Person, protocol_map: ProtocolMap, why: str) -> Draft:
    """Return the draft by which anybody ends every approval of this very map."""
    return end(person, digest(protocol_map), why)


def end(person: Person, map_digest: str, why: str) -> Draft:
    """Return the draft by which anybody ends every approval of the map with this digest."""
    body = Approval(map_digest=map_digest, identification={}, wire_commands=(), withdrawn=True, why=why)
    return Draft("approval", None, person.actor, body=to_body(body))


def standing(entries: Iterable[Entry]) -> dict[str, list[Approved]]:
    """Return the approvals that hold after all `entries`, by the digest of their map, for whatever procedure."""
    found: dict[str, list[Approved]] = {}
    for entry, body in fitting(entries, "approval"):
        assert isinstance(body, Approval)
        if not body.withdrawn:
            found.setdefault(body.map_digest, []).append(Approved(entry.seq, body, _by(entry)))
        elif not body.wire_commands:
            found.pop(body.map_digest, None)
    return found


def same_unit(approved: Approval, known: ProtocolMap) -> bool:
    """Whether an approval is for the control unit of this map, of whatever software; where it is unsure, it is.

    One value that both tell is enough, or that they differ in nothing but software and answer at one address.
    """
    here = known.address.answer
    if approved.unit and approved.unit != here:
        return False
    ours, theirs = _identification(known), approved.identification
    both = ours.keys() & theirs.keys()
    if any(ours[name].upper() == theirs[name].upper() for name in both):
        return True
    return approved.unit == here and both <= SOFTWARE


def _identification(known: ProtocolMap) -> dict[str, str]:
    return {one.identifier: one.value for one in known.identification}


def find(entries: Iterable[Entry], map_digest: str, wire_command: str, procedure_digest: str = "") -> Approved | None:
    """Return the approval of `wire_command` that holds after all `entries`; None when there is none.

    One that was given for a procedure holds for jobs of that very procedure alone.
    """
    found: Approved | None = None
    for entry, body in _of(entries, map_digest, wire_command):
        if body.withdrawn:
            found = None
        elif body.procedure_digest in ("", procedure_digest):
            found = Approved(entry.seq, body, _by(entry))
    return found


def _of(entries: Iterable[Entry], map_digest: str, wire_command: str) -> Iterator[tuple[Entry, Approval]]:
    """Yield what was approved and withdrawn of a wire command of a map, in order; what names none withdraws all."""
    for entry, body in fitting(entries, "approval"):
        if not isinstance(body, Approval) or body.map_digest != map_digest:
            continue
        if wire_command in body.wire_commands or (body.withdrawn and not body.wire_commands):
            yield entry, body


def lacking(
    entries: Iterable[Entry],
    map_digest: str,
    wire_command: str,
    procedure_digest: str = "",
    *,
    invented: bool = False,
    practice: bool = False,
) -> tuple[str, str]:
    """Return why `wire_command` may not be sent after all `entries`, and what to do; two empty texts when it may be."""
    known = tuple(entries)
    found = find(known, map_digest, wire_command, procedure_digest)
    unread = unfit(known, "approval", -1 if found is None else found.seq)
    if unread:
        why = f"{wire_command} may not be sent: {unread}, and it may withdraw what was approved"
        return why, f"{HINT}; an approval given after it holds: witnessmark protocol approve MAP"
    if found is not None:
        weak = by_name(found, invented=invented, practice=practice)
        return (f"{wire_command} {weak}", AGAIN) if weak else ("", "")
    why = f"{wire_command} is not approved for this control unit and this map"
    ended = withdrawn(known, map_digest, wire_command)
    return (f"{why}: {ended}" if ended else why), "the shop lead approves it first: witnessmark protocol approve MAP"


def withdrawn(entries: Iterable[Entry], map_digest: str, wire_command: str) -> str:
    """Say who withdrew the last approval, when and why; empty where none was withdrawn."""
    said, given = "", False
    for entry, body in _of(entries, map_digest, wire_command):
        if not body.withdrawn:
            given = True
        elif given:
            why = f": {body.why}" if body.why else ", and gave no reason"
            said = f"withdrawn by {_by(entry)}{why}"
    return said


def _by(entry: Entry) -> str:
    """Say whose word an entry is, of when, and where it stands."""
    at = datetime.fromtimestamp(entry.recorded.wall_ns // NS, UTC).strftime("%Y-%m-%d %H:%M UTC")
    return f"{entry.done_by.removeprefix('person:')} on {at} (entry {entry.seq})"


def require(
    entries: Iterable[Entry],
    map_digest: str,
    wire_command: str,
    procedure_digest: str = "",
    *,
    invented: bool = False,
    practice: bool = False,
) -> None:
    """Raise Withdrawn unless `wire_command` is approved after all `entries`, and well enough; see `lacking`."""
    why, hint = lacking(entries, map_digest, wire_command, procedure_digest, invented=invented, practice=practice)
    if why:
        raise Withdrawn(why, hint=hint)


AGAIN = "the shop lead approves it again, with a PIN"


def by_name(approved: Approved, *, invented: bool, practice: bool) -> str:
    """Say why an approval by name only is not enough here; empty when it is, and for one with a PIN."""
    if approved.body.proven != "name only" or (invented and practice):
        return ""
    what = "this is no practice vehicle" if invented else "this is no practice data"
    return f"was approved by name only (entry {approved.seq}), and {what}"


def mismatch(approved: Approval, identifier: str, value: str) -> str:
    """Say in words how a value that was read differs from what was approved; empty when it does not.

    Nothing was approved of an empty value: a unit that does not tell it is no unit that was approved.
    """
    wanted = approved.identification.get(identifier, "")
    if wanted and wanted.upper() == value.upper():
        return ""
    said, allowed = (words.spelled(one) if one else "" for one in (value, wanted))
    said, allowed = said or "not answered", allowed or "nothing"
    return f"identifier {identifier} is {said}, approved was {allowed}: another unit or other software"

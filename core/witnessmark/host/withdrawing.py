"""Withdrawing: anybody ends what a lead approved, for a control unit, for one map, or all of it; entries of no job.

A journal, a person and a map flow in; entries, what they ended and what still stands flow out. Rules that hold here:
ending an approval makes things safer, and needs neither PIN nor role; what was approved of the same control unit with
another map ends with it unless one map alone is meant, and what still stands then is told; a run that is on now goes
on to its end, so it is told as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from witnessmark.errors import LocalError
from witnessmark.job.allowed import approval
from witnessmark.job.allowed.approval import Approved
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal
from witnessmark.mapping.load import digest
from witnessmark.mapping.model import ProtocolMap
from witnessmark.people.person import Person

LOOK_BACK = 5000
"""How many entries back an intent is looked for whose run may be on: a job writes far fewer in a run."""


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """The `entries` that were written, the approvals they `ended`, and those of the same control unit `left`."""

    entries: tuple[Entry, ...]
    ended: tuple[Approved, ...]
    left: tuple[Approved, ...] = ()


def withdraw(journal: Journal, who: Person, map_: ProtocolMap, why: str, *, this_map: bool = False) -> Withdrawal:
    """Write that every approval of the map's control unit has ended, of `this_map` alone where wanted.

    It holds from the next send on. Nothing is written when nothing at all is approved. Raises LocalError when none of
    those meant holds and others do.
    """
    there = approval.standing(journal.entries(kind="approval"))
    unit = [one for one, many in there.items() if any(approval.same_unit(each.body, map_) for each in many)]
    meant = [digest(map_)] if this_map else list(dict.fromkeys((*unit, digest(map_))))
    ended = [one for one in meant if one in there]
    if ended:
        left = _all(there, (one for one in unit if one not in ended))
        return Withdrawal(_end(journal, who, ended, why), _all(there, ended), left)
    if not there:
        return Withdrawal((), ())
    if this_map and unit:
        raise LocalError(
            f"no approval of this map holds as the file stands now; of its control unit do: {said(_all(there, unit))}",
            hint="a map that was changed is another map: without --this-map all of this control unit end",
        )
    raise LocalError(
        f"no approval of this control unit holds; of others do: {said(_all(there, there))}",
        hint="give a map of the control unit that was approved, or end every approval with --all",
    )


def withdraw_all(journal: Journal, who: Person, why: str) -> Withdrawal:
    """Write that every approval in this journal has ended, an entry for each map; none when none holds."""
    there = approval.standing(journal.entries(kind="approval"))
    return Withdrawal(_end(journal, who, there, why), _all(there, there))


def said(approved: Iterable[Approved]) -> str:
    """Name approvals: `entry 4 (pump-rear, valve)`."""
    return "; ".join(f"entry {one.seq} ({', '.join(one.body.wire_commands)})" for one in approved)


def runs_on(journal: Journal) -> dict[str, str]:
    """Return the wire commands whose run may be on now, by their job: sent, and no outcome is written yet."""
    found: dict[int, tuple[str, str]] = {}
    for entry in journal.entries(after_seq=max(-1, journal.size - LOOK_BACK)):
        if entry.kind == "intent" and entry.body.get("grade", "sent") == "sent":
            found[entry.seq] = (entry.job or "", entry.body["wire_command"])
        elif entry.kind in ("outcome", "interrupted"):
            found.pop(entry.body["actuation"], None)
    return dict(found.values())


def _all(there: dict[str, list[Approved]], digests: Iterable[str]) -> tuple[Approved, ...]:
    return tuple(sorted((each for one in digests for each in there[one]), key=lambda one: one.seq))


def _end(journal: Journal, who: Person, digests: Iterable[str], why: str) -> tuple[Entry, ...]:
    drafts = [approval.end(who, one, why) for one in digests]
    return tuple(journal.append_many([replace(one, body={**one.body, "proven": "name only"}) for one in drafts]))

"""The shop's people as two places say: the people file, and the last entry of the journal that tells of it.

A shop flows in, its people flow out, and every change is an entry. Rules that hold here:

- a change is laid ready beside the file, then its entry is written, then the file takes its place. The entry decides: a
  file that was laid ready and never recorded is forgotten, one that was recorded is put in its place by whoever comes
  next. So no moment at which the power goes leaves file and entry apart;
- a file that is not as the last entry says was changed by hand. Nothing is built on it until a lead whose own line
  is unchanged accepts it, and an entry says so; where no lead's is, it is made anew as after a loss;
- where no entry tells of the file, it is taken as it is found; a file that is gone where PINs were used opens nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import msgspec

from witnessmark.errors import InputError, JournalError, LocalError
from witnessmark.host.shop import Shop
from witnessmark.job.presence import signed_on
from witnessmark.journal import bodies, permission
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal
from witnessmark.people import known
from witnessmark.people.known import Known
from witnessmark.people.person import Person
from witnessmark.people.register import Register, locked, read, ready_path

PEOPLE = "people.json"
Act = Literal["added", "removed", "role", "pin", "anew", "noted", "accepted"]


@dataclass(frozen=True, slots=True)
class Roster:
    """The people file as it was read, and what the entry `seq` says of it; None: no entry does, or none can be read."""

    people: Register
    seq: int | None
    recorded: dict[str, Known]

    @property
    def differences(self) -> tuple[str, ...]:
        """What of the file is not as the entry says, in words."""
        return () if self.seq is None else known.differences(self.recorded, known.lines(self.people))

    @property
    def changed(self) -> frozenset[str]:
        """The ids of which file and entry say something else."""
        return frozenset() if self.seq is None else _changed(self.recorded, known.lines(self.people))

    @property
    def leads(self) -> tuple[str, ...]:
        """The leads whose line is as the entry says."""
        return tuple(id_ for id_, one in self.recorded.items() if one.role == "lead" and id_ not in self.changed)

    def check(self, id_: str = "") -> None:
        """Raise LocalError when the file, or the line of `id_` alone, is not as the entry says."""
        if not self.changed if not id_ else id_ not in self.changed:
            return
        hint = f"put the file back, or put it on record as it is: {self.way_on}"
        said = "; ".join(self.differences)
        raise LocalError(f"the people file is not as entry {self.seq} says: {said}", hint=hint)

    @property
    def way_on(self) -> str:
        """The command that goes on with the file knowingly."""
        if self.leads:
            return f"`witnessmark person accept --why REASON --by ID`, by a lead as recorded: {', '.join(self.leads)}"
        return "`witnessmark person add ID --role lead --anew REASON`, for no lead's PIN and role are as recorded"


def of(shop: Shop) -> Roster:
    """Return the shop's people; a change that was recorded and cut off is finished first.

    Raises InputError when the file is damaged, or gone though PINs were used here.
    """
    seen = _with_entry(shop, read(path_of(shop)))
    if seen.differences:  # perhaps only because somebody is changing it, or was cut off
        with locked(path_of(shop)):
            _finish(shop)
            seen = _with_entry(shop, read(path_of(shop)))
    return _there(shop, seen)


def change(
    shop: Shop, by: Person, proven: str, act: Act, id_: str, made: Callable[[Register], Register], origin: str = ""
) -> Entry:
    """Change the people as `made` does, and return the entry that says so. A journal is made where there is none.

    Raises LocalError where file and entry differ, and whatever `made` raises; nothing is changed then.
    """
    with locked(path_of(shop)):
        _finish(shop)
        now = _there(shop, _with_entry(shop, read(path_of(shop))))
        now.check()
        body = permission.People(act=act, person=id_, people={}, proven=proven)
        return _record(shop, made(now.people), now, by, body, origin)


def note(shop: Shop, by: Person, proven: str) -> None:
    """Write how the people were found, where the journal tells nothing of them. A shop without journal stays so."""
    if not shop.journal_path.exists():
        return
    with locked(path_of(shop)), shop.write() as journal:
        if _last(journal) is None:
            _note(journal, read(path_of(shop)), by, proven, "")


def note_restored(shop: Shop, by: Person, proven: str, before: Roster) -> None:
    """Write the people into a journal that a copy was put in place of, where the one before told them as they are."""
    with locked(path_of(shop)):
        now = _with_entry(shop, read(path_of(shop)))
        as_before = before.seq is not None and known.lines(now.people) == before.recorded
        if as_before and (now.seq is None or now.differences):
            with shop.write() as journal:
                _note(journal, now.people, by, proven, "a copy was put in the place of the journal")


def accept(shop: Shop, by: str, pin: Callable[[], str], why: str) -> Entry:
    """Put on record that the file is as it is, under the PIN of a lead whose line is unchanged; return the entry.

    Raises LocalError when nothing differs, for anybody else, and for a wrong PIN.
    """
    seen = of(shop)
    if not seen.differences:
        raise LocalError("the people file is as the journal says", hint="there is nothing to accept")
    if by not in seen.leads:
        raise LocalError(f"{by} is no lead whose PIN and role are as entry {seen.seq} says", hint=seen.way_on)
    seen.people.authenticate(by, pin(), shop.clock.stamp().wall_ns)
    with locked(path_of(shop)):
        now = _with_entry(shop, read(path_of(shop)))
        if now.differences != seen.differences:
            raise LocalError("the people file was changed meanwhile", hint="look again: `witnessmark person list`")
        body = permission.People(act="accepted", people={}, proven="pin", why=why, differences=now.differences)
        return _record(shop, now.people, now, Person(by, "lead"), body)


def check_anew(shop: Shop, lead: Person) -> None:
    """Raise LocalError unless the file is gone, damaged, or has no lead as recorded; and for one who is no lead."""
    if lead.role != "lead":
        raise LocalError("the first person of a shop is its lead", hint="add the lead first: --role lead")
    there = _read_or_nobody(shop)
    if there.people and not there.differences:
        raise LocalError("the people file is there", hint="leave --anew out; a lead adds people")
    if there.people and there.leads:
        raise LocalError("the people file is there, and a lead in it is as recorded", hint=there.way_on)


def begin_anew(shop: Shop, lead: Person, pin: str, why: str) -> Entry:
    """Make the people file anew with `lead` as the first in it, and return the entry. Raises as `check_anew` does."""
    with locked(path_of(shop)):
        _finish(shop)
        check_anew(shop, lead)
        was = _read_or_nobody(shop)
        people = Register(path_of(shop)).add(lead.id, lead.role, pin)
        body = permission.People(act="anew", person=lead.id, people={}, proven="name only", why=why)
        return _record(shop, people, was, lead, body)


def signs(journal: Journal) -> list[Entry]:
    """Return who signed on and off, in order."""
    found = [entry for kind in ("sign-on", "sign-off") for entry in journal.entries(kind=kind)]
    return sorted(found, key=lambda entry: entry.seq)


def path_of(shop: Shop) -> Path:
    """Return where the people file lies."""
    return shop.folder / PEOPLE


def _there(shop: Shop, found: Roster) -> Roster:
    if not found.people and (found.seq is not None or _knows_of_pins(shop)):
        raise InputError(
            "the people file is gone, and PINs were used in this shop",
            place=str(path_of(shop)),
            hint="put it back; or make it anew, which is recorded: `person add ID --role lead --anew REASON`",
        )
    return found


def _read_or_nobody(shop: Shop) -> Roster:
    try:
        people = read(path_of(shop))
    except InputError:
        people = Register(path_of(shop))  # what cannot be read is as good as gone
    return _with_entry(shop, people)


def _with_entry(shop: Shop, people: Register) -> Roster:
    """Return the roster. A journal that cannot be read tells of nobody: what mends it must go on."""
    if not shop.journal_path.exists():
        return Roster(people, None, {})
    try:
        with shop.read() as journal:
            last = _last(journal)
    except JournalError:
        return Roster(people, None, {})
    if last is None:
        return Roster(people, None, {})
    body = bodies.from_body(last.kind, last.body)
    assert isinstance(body, permission.People)
    return Roster(people, last.seq, {id_: Known(one.role, one.pin) for id_, one in body.people.items()})


def _finish(shop: Shop) -> None:
    """Put in place what was laid ready and recorded. The caller holds the lock."""
    path = path_of(shop)
    if not ready_path(path).exists():
        return
    try:
        ready = read(ready_path(path))
    except InputError:
        return  # cut off while it was laid ready, so it was never recorded
    found = _with_entry(shop, Register(path, ready.people))
    if found.seq is not None and not found.differences:
        found.people.put_in_place()


def _record(shop: Shop, people: Register, was: Roster, by: Person, body: permission.People, origin: str = "") -> Entry:
    """Lay `people` ready, write the entry, put them in place. Whoever is changed by another is signed off by it."""
    people.lay_ready()
    before = was.recorded if was.seq is not None else known.lines(was.people)
    changed = _changed(before, known.lines(people)) - {by.id}
    with shop.write(origin) as journal:
        here = signed_on(signs(journal))
        gone = [id_ for id_ in here if id_ in changed or (body.act == "anew" and id_ not in people.people)]
        off = [Draft("sign-off", None, f"person:{id_}", entered_by=by.actor) for id_ in gone]
        made = journal.append_many([_draft(by, msgspec.structs.replace(body, people=_told(people))), *off])[0]
    people.put_in_place()
    return made


def _note(journal: Journal, people: Register, by: Person, proven: str, why: str) -> None:
    journal.append(_draft(by, permission.People(act="noted", people=_told(people), proven=proven, why=why)))


def _draft(by: Person, body: permission.People) -> Draft:
    return Draft("people", None, by.actor, body=bodies.to_body(body))


def _told(people: Register) -> dict[str, permission.KnownPerson]:
    return {id_: permission.KnownPerson(*one) for id_, one in known.lines(people).items()}


def _changed(before: dict[str, Known], now: dict[str, Known]) -> frozenset[str]:
    return frozenset(id_ for id_ in {*before, *now} if before.get(id_) != now.get(id_))


def _last(journal: Journal) -> Entry | None:
    last = None
    for entry in journal.entries(kind="people"):
        last = entry
    return last


def _knows_of_pins(shop: Shop) -> bool:
    """Tell whether somebody signed on or approved by a PIN. A journal that cannot be read knows of nothing."""
    if not shop.journal_path.exists():
        return False
    try:
        with shop.read() as journal:
            entries = (entry for kind in ("sign-on", "approval") for entry in journal.entries(kind=kind))
            return any(entry.body.get("proven") == "pin" for entry in entries)
    except JournalError:
        return False

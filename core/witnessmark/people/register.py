"""The shop's people: their ids, roles and PINs, in one file beside the journal.

A file flows in, persons flow out; it is written whole or not at all, readable by its owner alone. Rules that hold here:

- the first person is a lead, and there is always one: the last lead cannot be removed or made a technician;
- five wrong PINs in a row close a person's entry for a minute;
- no names: an entry of the journal and this file hold ids.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from pathlib import Path

import msgspec

from witnessmark.clock import NS
from witnessmark.errors import InputError, LocalError
from witnessmark.people.person import Person, Role
from witnessmark.people.pin import COST, KeptPin, fits, keep

FORMAT = "witnessmark-people/1"
TRIES = 5
CLOSED_S = 60
"""Common practice, no source."""


class Member(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """One person. `wrong` counts wrong PINs since the last right one, `closed_until_ns` is wall time."""

    role: Role
    pin: KeptPin
    wrong: int = 0
    closed_until_ns: int = 0


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    format: str
    people: dict[str, Member]


@dataclass(frozen=True)
class Register:
    """The people file at `path`, as it stood when it was read. `cost` is scrypt's n for new PINs."""

    path: Path
    people: dict[str, Member] = field(default_factory=dict)
    cost: int = COST

    def __bool__(self) -> bool:
        return bool(self.people)

    def person(self, id_: str) -> Person:
        """Return a person by id. Raises InputError when nobody is called so."""
        return Person(id_, self._member(id_).role)

    def add(self, id_: str, role: Role, pin: str) -> Register:
        """Add a person, write the file. Raises InputError for a taken id, LocalError for a first one who is no lead."""
        person = Person(id_, role)
        if id_ in self.people:
            raise InputError(f"{id_!r} is taken", place="person", hint="choose another id, or remove that one first")
        if not self.people and role != "lead":
            raise LocalError("the first person of a shop is its lead", hint="add the lead first: --role lead")
        return self._write({**self.people, person.id: Member(role, keep(pin, self.cost))})

    def remove(self, id_: str) -> Register:
        """Remove a person and write the file. Raises InputError for nobody, LocalError for the last lead."""
        self._member(id_)
        left = {name: one for name, one in self.people.items() if name != id_}
        if not any(one.role == "lead" for one in left.values()):
            raise LocalError(f"{id_} is the only lead", hint="add another lead first")
        return self._write(left)

    def change_pin(self, id_: str, pin: str) -> Register:
        """Give a person a new PIN, open their entry again, and write the file."""
        return self._write({**self.people, id_: Member(self._member(id_).role, keep(pin, self.cost))})

    def authenticate(self, id_: str, pin: str, now_ns: int) -> Person:
        """Return the person when the PIN fits. `now_ns` is wall time.

        Raises LocalError for a wrong PIN, which is counted in the file, and while the entry is closed.
        """
        member = self._member(id_)
        if now_ns < member.closed_until_ns:
            left_s = -(-(member.closed_until_ns - now_ns) // NS)
            raise LocalError(f"too many wrong PINs for {id_}", hint=f"try again in {left_s} s")
        if fits(pin, member.pin):
            if member.wrong:
                self._write({**self.people, id_: msgspec.structs.replace(member, wrong=0, closed_until_ns=0)})
            return Person(id_, member.role)
        wrong = member.wrong + 1
        until_ns = now_ns + CLOSED_S * NS if wrong % TRIES == 0 else 0
        self._write({**self.people, id_: msgspec.structs.replace(member, wrong=wrong, closed_until_ns=until_ns)})
        raise LocalError(f"that is not the PIN of {id_}", hint="try again; a lead can set a new one")

    def _member(self, id_: str) -> Member:
        if id_ not in self.people:
            known = ", ".join(self.people) or "nobody yet"
            raise InputError(f"nobody here is called {id_!r}", place="person", hint=f"known: {known}")
        return self.people[id_]

    def _write(self, people: dict[str, Member]) -> Register:
        text = msgspec.json.format(msgspec.json.encode(_Document(FORMAT, people)), indent=1)
        draft = self.path.with_name(self.path.name + ".part")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            draft.unlink(missing_ok=True)
            with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                file.write(text + b"\n")
                file.flush()
                os.fsync(file.fileno())
            os.replace(draft, self.path)
        except OSError as error:
            raise LocalError(
                f"{self.path} cannot be written: {error.strerror}", hint="check folder and disk"
            ) from error
        return replace(self, people=people)


def read(path: Path, cost: int = COST) -> Register:
    """Read the people file; nobody where there is none. Raises InputError when it is damaged."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return Register(path, {}, cost)
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", place=str(path), hint="check its rights") from error
    try:
        document = msgspec.json.decode(data, type=_Document)
    except msgspec.MsgspecError as error:
        raise InputError(f"is damaged: {error}", place=str(path), hint="restore it from a copy") from error
    if document.format != FORMAT or not any(one.role == "lead" for one in document.people.values()):
        raise InputError("is no people file with a lead in it", place=str(path), hint="restore it from a copy")
    return Register(path, document.people, cost)

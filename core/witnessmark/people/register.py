"""The shop's people: their ids, roles and PINs, in one file beside the journal.

A file flows in, persons flow out; it is written whole or not at all, readable by its owner alone. Rules that hold here:

- the first person is a lead, and there is always one: the last lead cannot be removed or made a technician;
- five wrong PINs in a row at one id close that person's entry for a minute, and nobody else's;
- a change is made in memory, then laid ready beside the file, and put in its place last: what was laid ready and whole
  can be put in place by whoever comes later (`host.roster`);
- whoever writes the file holds its lock and has read it under that lock;
- no names: an entry of the journal and this file hold ids.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
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
        """Return the register with one more person. Raises as `check_new` does."""
        self.check_new(id_, role)
        return self._with(id_, Member(role, keep(pin, self.cost)))

    def check_new(self, id_: str, role: Role) -> None:
        """Raise InputError for an id that is taken or none, LocalError for a first person who is no lead."""
        Person(id_, role)
        if id_ in self.people:
            raise InputError(f"{id_!r} is taken", place="person", hint="choose another id, or remove that one first")
        if not self.people and role != "lead":
            raise LocalError("the first person of a shop is its lead", hint="add the lead first: --role lead")

    def remove(self, id_: str) -> Register:
        """Return the register without a person. Raises InputError for nobody, LocalError for the last lead."""
        self._member(id_)
        return self._still_led(id_, {name: one for name, one in self.people.items() if name != id_})

    def change_role(self, id_: str, role: Role) -> Register:
        """Return the register with a person in another role. Raises as `remove` does."""
        changed = self._with(id_, msgspec.structs.replace(self._member(id_), role=role))
        return self._still_led(id_, changed.people)

    def change_pin(self, id_: str, pin: str) -> Register:
        """Return the register with a new PIN for a person, whose entry is open again."""
        return self._with(id_, Member(self._member(id_).role, keep(pin, self.cost)))

    def write(self) -> Register:
        """Write the file whole. Where others may write too, hold `locked`. Raises LocalError when it cannot be."""
        draft = self.path.with_name(self.path.name + ".part")
        with _told(self.path):
            self._write_to(draft)
            os.replace(draft, self.path)
        return self

    def lay_ready(self) -> None:
        """Write the file beside its place, synced with its name. Raises LocalError when it cannot be."""
        with _told(self.path):
            self._write_to(ready_path(self.path))
            _sync_folder(self.path.parent)

    def put_in_place(self) -> None:
        """Let what was laid ready be the file. Raises LocalError when it cannot be."""
        with _told(self.path):
            os.replace(ready_path(self.path), self.path)
            _sync_folder(self.path.parent)

    def _write_to(self, path: Path) -> None:
        text = msgspec.json.format(msgspec.json.encode(_Document(FORMAT, self.people)), indent=1)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(text + b"\n")
            file.flush()
            os.fsync(file.fileno())

    def authenticate(self, id_: str, pin: str, now_ns: int) -> Person:
        """Return the person when the PIN fits the file as it stands now. `now_ns` is wall time.

        Raises LocalError for a wrong PIN, which is counted in the file, and while the entry is closed.
        """
        with locked(self.path):
            return read(self.path, self.cost)._tried(id_, pin, now_ns)

    def _tried(self, id_: str, pin: str, now_ns: int) -> Person:
        member = self._member(id_)
        if now_ns < member.closed_until_ns:
            left_s = -(-(member.closed_until_ns - now_ns) // NS)
            raise LocalError(f"too many wrong PINs for {id_}", hint=f"try again in {left_s} s")
        if fits(pin, member.pin):
            if member.wrong:
                self._with(id_, msgspec.structs.replace(member, wrong=0, closed_until_ns=0)).write()
            return Person(id_, member.role)
        wrong = member.wrong + 1
        until_ns = now_ns + CLOSED_S * NS if wrong % TRIES == 0 else 0
        self._with(id_, msgspec.structs.replace(member, wrong=wrong, closed_until_ns=until_ns)).write()
        raise LocalError(
            f"that is not the PIN of {id_}", hint="try again; a lead can set a new one: `witnessmark person pin ID`"
        )

    def _with(self, id_: str, member: Member) -> Register:
        return replace(self, people={**self.people, id_: member})

    def _still_led(self, id_: str, people: dict[str, Member]) -> Register:
        if not any(one.role == "lead" for one in people.values()):
            raise LocalError(f"{id_} is the only lead", hint="add another lead first")
        return replace(self, people=people)

    def _member(self, id_: str) -> Member:
        if id_ not in self.people:
            known = ", ".join(self.people) or "nobody yet"
            raise InputError(f"nobody here is called {id_!r}", place="person", hint=f"known: {known}")
        return self.people[id_]


def ready_path(path: Path) -> Path:
    """Return where a people file is laid ready before it takes its place at `path`."""
    return path.with_name(path.name + ".next")


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock of the people file at `path`; waits for whoever has it. Raises LocalError when it cannot be had."""
    with _told(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path.with_name(path.name + ".lock"), os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        with _told(path):
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Turn what the system says into what a user reads."""
    try:
        yield
    except OSError as error:
        raise LocalError(f"{path} cannot be written: {error.strerror}", hint="check folder and disk") from error


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


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

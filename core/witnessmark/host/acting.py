"""Who acts in a shop: the person an id stands for, with the PIN where the shop has set PINs.

A shop, an id and a way to ask for the PIN flow in, a person flows out. Rules that hold here: once a shop has a people
file nobody acts as a lead without the PIN; before that an id is taken at its word, and the entry says so. A people file
that is gone where the journal knows of PINs opens nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from witnessmark.errors import InputError, JournalError, LocalError
from witnessmark.host.shop import Shop
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person, require_lead
from witnessmark.people.register import Register, read

PEOPLE = "people.json"


@dataclass(frozen=True, slots=True)
class Acting:
    """Somebody who acts. `proven` is `pin`, or `name only` where the shop has set no PINs."""

    person: Person
    proven: str


def register(shop: Shop) -> Register:
    """Return the shop's people. Raises InputError when the file is damaged, or gone though PINs were used here."""
    people = read(_path(shop))
    if not people and _knows_of_pins(shop):
        raise InputError(
            "the people file is gone, and PINs were used in this shop",
            place=str(_path(shop)),
            hint="put it back; or make it anew, which is recorded: `person add ID --role lead --anew REASON`",
        )
    return people


def begin_anew(shop: Shop, lead: Person, pin: str, why: str) -> Entry:
    """Make a people file that is gone anew, with `lead` as the first in it, and return the entry that says so.

    Raises LocalError when it is not gone, or for one who is no lead.
    """
    people = read(_path(shop))
    if people:
        raise LocalError("the people file is there", hint="leave --anew out; a lead adds people")
    if lead.role != "lead":
        raise LocalError("the first person of a shop is its lead", hint="add the lead first: --role lead")
    with shop.write() as journal:
        made = journal.append(Draft("note", None, lead.actor, body={"people_anew": why}))
    people.add(lead.id, lead.role, pin)
    return made


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


def lead(shop: Shop, by: str, act: str, pin: Callable[[], str]) -> Acting:
    """Return the lead `by` who wants to `act`; `pin` asks for the PIN, and is called only when one is needed.

    Raises LocalError for anybody who is no lead and for a wrong PIN, InputError for an id nobody has.
    """
    people = register(shop)
    if not people:
        return Acting(Person(by, "lead"), "name only")
    require_lead(people.person(by), act)
    return signed(shop, by, pin)


def signed(shop: Shop, by: str, pin: Callable[[], str]) -> Acting:
    """Return the person `by` when the PIN fits. Raises as `lead` does, without regard to the role."""
    people = register(shop)
    people.person(by)
    return Acting(people.authenticate(by, pin(), shop.clock.stamp().wall_ns), "pin")


def sign_on(journal: Journal, acting: Acting) -> Entry:
    """Write that a person is here, and in which role."""
    person = acting.person
    return journal.append(Draft("sign-on", None, person.actor, body={"role": person.role, "proven": acting.proven}))


def sign_off(journal: Journal, person: Person) -> Entry:
    """Write that a person leaves. Needs no PIN: anybody may step back."""
    return journal.append(Draft("sign-off", None, person.actor))


def _path(shop: Shop) -> Path:
    return shop.folder / PEOPLE

"""Who acts in a shop: the person an id stands for, with the PIN where the shop has set PINs.

A shop, an id and a way to ask for the PIN flow in, a person flows out. Rules that hold here: once a shop has a people
file nobody acts as a lead without the PIN; before that an id is taken at its word, and the entry says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

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
    """Return the shop's people. Raises InputError when the file is damaged."""
    return read(_path(shop))


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

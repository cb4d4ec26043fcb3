"""Who acts in a shop: the person an id stands for, with the PIN where the shop has set PINs.

A shop, an id and a way to ask for the PIN flow in, a person flows out. Rules that hold here: once a shop has a people
file nobody acts as a lead without the PIN; before that an id is taken at its word, and the entry says so. A people file
that is not as the journal says (`roster`) lets no lead act, and nobody whose own line in it was changed sign.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from witnessmark.errors import JournalError, LocalError
from witnessmark.host import roster
from witnessmark.host.shop import Shop
from witnessmark.job.presence import signed_on
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal
from witnessmark.people.person import Person, require_lead
from witnessmark.people.register import Register


@dataclass(frozen=True, slots=True)
class Acting:
    """Somebody who acts. `proven` is `pin`, or `name only` where the shop has set no PINs."""

    person: Person
    proven: str


def register(shop: Shop) -> Register:
    """Return the shop's people. Raises InputError when the file is damaged, or gone though PINs were used here."""
    return roster.of(shop).people


def lead(shop: Shop, by: str, act: str, pin: Callable[[], str]) -> Acting:
    """Return the lead `by` who wants to `act`; `pin` asks for the PIN, and is called only when one is needed.

    Raises LocalError for anybody who is no lead, for a wrong PIN, and where the people file is not as the journal says;
    InputError for an id nobody has.
    """
    found = roster.of(shop)
    if not found.people:
        return Acting(Person(by, "lead"), "name only")
    require_lead(found.people.person(by), act)
    acting = signed(shop, by, pin, whole=True)
    if found.seq is None:
        _note(shop, acting)
    return acting


def signed(shop: Shop, by: str, pin: Callable[[], str], *, whole: bool = False) -> Acting:
    """Return the person `by` when the PIN fits, whatever the role. Raises as `lead` does.

    `whole`: for what only a lead or a named person may do, the whole people file must be as the journal says; else the
    person's own line in it.
    """
    found = roster.of(shop)
    found.people.person(by)
    found.check("" if whole else by)
    return Acting(found.people.authenticate(by, pin(), shop.clock.stamp().wall_ns), "pin")


def sign_on(journal: Journal, acting: Acting) -> Entry:
    """Write that a person is here, and in which role."""
    person = acting.person
    return journal.append(Draft("sign-on", None, person.actor, body={"role": person.role, "proven": acting.proven}))


def sign_off(journal: Journal, person: Person) -> Entry:
    """Write that a person leaves; needs no PIN. Raises LocalError for one who is not signed on."""
    both = [entry for kind in ("sign-on", "sign-off") for entry in journal.entries(kind=kind)]
    here = signed_on(sorted(both, key=lambda one: one.seq))
    if person.id not in here:
        known = ", ".join(here) or "nobody"
        raise LocalError(f"{person.id} is not signed on, so nothing was written", hint=f"signed on here: {known}")
    return journal.append(Draft("sign-off", None, person.actor))


def _note(shop: Shop, acting: Acting) -> None:
    """Put the people on record where no entry tells of them yet."""
    try:
        roster.note(shop, acting.person, acting.proven)
    except JournalError:
        return  # the act itself says what is wrong with the journal, or is the one that mends it

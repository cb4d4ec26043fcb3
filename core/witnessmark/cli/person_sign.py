"""`witnessmark person sign-on` and `sign-off`: who is here, as entries of the journal."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("sign-on")
@by_option
@pin_option
@shop_option
def sign_on(by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Say with your PIN that you are here."""
    from witnessmark.host import acting
    from witnessmark.people.person import Person

    who = acting.signed(shop, by, pin) if acting.register(shop) else acting.Acting(Person(by), "name only")
    with shop.write() as journal:
        entry = acting.sign_on(journal, who)
    click.echo(f"{by} is signed on as {who.person.role} in entry {entry.seq}")


@click.command("sign-off")
@by_option
@shop_option
def sign_off(by: str, shop: Shop) -> None:
    """Say that you leave. Needs no PIN."""
    from witnessmark.host import acting
    from witnessmark.people.person import Person

    with shop.write() as journal:
        entry = acting.sign_off(journal, Person(by))
    click.echo(f"{by} is signed off in entry {entry.seq}")

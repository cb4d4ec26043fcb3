"""`witnessmark person pin`: a new PIN, for oneself with the old one, or for anybody as lead."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import new_pin_option, pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("pin")
@click.argument("id_", metavar="ID")
@by_option
@pin_option
@new_pin_option
@shop_option
def pin(id_: str, by: str, pin: Callable[[], str], new_pin: Callable[[], str], shop: Shop) -> None:
    """Give ID a new PIN: yourself with your old one, anybody as lead.

    Your own PIN is asked for first, then the new one, twice.
    """
    from witnessmark.host import acting, roster

    acting.register(shop).person(id_)
    if id_ == by:
        who = acting.signed(shop, by, pin, whole=True)
    else:
        who = acting.lead(shop, by, "give another person a PIN", pin)
    chosen = new_pin()
    entry = roster.change(shop, who.person, who.proven, "pin", id_, lambda now: now.change_pin(id_, chosen))
    click.echo(f"{id_} has a new PIN; entry {entry.seq} says so")

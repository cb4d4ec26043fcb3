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
    """Give ID a new PIN: yourself with your old one, anybody as lead."""
    from witnessmark.host import acting

    if id_ == by:
        acting.signed(shop, by, pin)
    else:
        acting.lead(shop, by, "give another person a PIN", pin)
    acting.register(shop).change_pin(id_, new_pin())
    click.echo(f"{id_} has a new PIN")

"""`witnessmark person remove`: removes a person; entries that name the id stay."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("remove")
@click.argument("id_", metavar="ID")
@by_option
@pin_option
@shop_option
def remove(id_: str, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Remove a person. What they did stays in the journal. Only a lead may."""
    from witnessmark.host import acting, roster

    who = acting.lead(shop, by, "remove a person", pin)
    entry = roster.change(shop, who.person, who.proven, "removed", id_, lambda now: now.remove(id_))
    click.echo(f"{id_} is removed; entry {entry.seq} says so")

"""`witnessmark person role`: another role for a person who is here already."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.people.person import Role


@click.command("role")
@click.argument("id_", metavar="ID")
@click.argument("role", type=click.Choice(["technician", "lead"]))
@by_option
@pin_option
@shop_option
def role(id_: str, role: Role, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Make ID a technician or a lead; the PIN stays. Only a lead may."""
    from witnessmark.host import acting, roster

    who = acting.lead(shop, by, "change a role", pin)
    entry = roster.change(shop, who.person, who.proven, "role", id_, lambda now: now.change_role(id_, role))
    click.echo(f"{id_} is a {role} of this shop; entry {entry.seq} says so")

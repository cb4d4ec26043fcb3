"""`witnessmark person list`: the people of the shop, and who is signed on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("list")
@shop_option
def list_(shop: Shop) -> None:
    """List the people of this shop, and who is signed on."""
    from witnessmark.host import acting
    from witnessmark.job.presence import signed_on

    people = acting.register(shop)
    here = {}
    if shop.journal_path.exists():
        with shop.read() as journal:
            here = signed_on(journal.entries())
    if not people:
        click.echo("this shop has set no PINs: add the lead with `witnessmark person add ID --role lead`")
    for id_ in sorted({*people.people, *here}):
        role = people.people[id_].role if id_ in people.people else "not of this shop"
        click.echo(f"{id_}: {role}" + (f", signed on in entry {here[id_].seq}" if id_ in here else ""))

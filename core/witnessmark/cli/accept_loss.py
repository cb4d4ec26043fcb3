"""`witnessmark accept-loss`: going on with a journal whose end is lost and of which there is no copy (lead)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.option("--reason", required=True, help="What happened, without names: it stays.")
@by_option
@pin_option
@shop_option
def accept_loss(reason: str, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Go on after the end of the journal was lost, where no copy has it (lead).

    Only where every entry that is left is sound; an entry says what was known of the rest, and so does each job that
    was not ended.
    """
    from witnessmark.errors import InputError
    from witnessmark.host import acting, restoring

    if not reason.strip():
        raise InputError("no reason is given", place="--reason", hint="say what happened")
    shop.need_journal()
    lead = acting.lead(shop, by, "accept a loss", pin)
    made, touched = restoring.accept_loss(shop, lead.person.actor, reason)
    click.echo(f"Entry {made.seq} says it: {made.body['accepted_loss']}.")
    for job in touched:
        click.echo(f"  job {job} may have lost entries; an entry of it says so now, and its audit will")
    click.echo("A sheet or checkpoint printed before the loss goes on showing that entries are missing.")

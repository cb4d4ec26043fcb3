"""`witnessmark person accept`: a people file that was changed by hand is put on record as it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("accept")
@click.option("--why", required=True, metavar="REASON", help="Why it differs, without names: it stays.")
@by_option
@pin_option
@shop_option
def accept(why: str, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Put on record that the people file is as it is, though no entry changed it.

    By a lead whose own role and PIN are as the journal says. `person list` says what differs.
    """
    from witnessmark.errors import InputError
    from witnessmark.host import roster

    if not why.strip():
        raise InputError("no reason is given", place="--why", hint="say how the file came to differ")
    entry = roster.accept(shop, by, pin, why.strip())
    click.echo(f"accepted in entry {entry.seq}: {'; '.join(entry.body['differences'])}")

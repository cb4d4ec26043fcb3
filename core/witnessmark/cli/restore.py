"""`witnessmark restore SOURCE`: puts a copy in the place of the journal; never over a longer history (lead)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@click.option("--accept-shorter", is_flag=True, help="Though entries are lost by it; how many will be recorded.")
@by_option
@pin_option
@shop_option
def restore(source: Path, accept_shorter: bool, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Put a copy in the place of the journal (lead)."""
    from witnessmark.errors import InputError
    from witnessmark.host import acting, restoring, roster
    from witnessmark.host.shop import JOURNAL

    lead = acting.lead(shop, by, "restore a copy", pin)
    before = roster.of(shop)
    shop.make_folder()
    origin = source / JOURNAL if source.is_dir() else source
    if origin.exists() and shop.journal_path.exists() and origin.samefile(shop.journal_path):
        raise InputError("that is the journal itself", place=str(source), hint="give the second copy")
    done = restoring.restore(shop, origin, lead.person.actor, accept_shorter=accept_shorter)
    roster.note_restored(shop, lead.person, lead.proven, before)
    click.echo(f"{shop.journal_path}: restored with {done.found.size} entries, {done.found.verdict}")
    for job in done.touched:
        click.echo(f"  job {job} may have lost entries that came after the copy; an entry of it says so now")
    for job in done.erased:
        click.echo(f"  the customer's data of job {job} had been erased after the copy was made; it is erased again")
    if done.lost.jobs is None:
        click.echo("  What came after the copy cannot be read: erase again whatever was erased since it was made.")
    click.echo("What was there is kept beside it with `.before` in its name, with the customers' data in it: delete it")
    click.echo("when it is of no more use. The key's file and the people's were left as they are.")

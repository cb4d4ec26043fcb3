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
    from witnessmark.host import acting
    from witnessmark.host.shop import JOURNAL
    from witnessmark.journal import copying

    lead = acting.lead(shop, by, "restore a copy", pin)
    shop.make_folder()
    origin = source / JOURNAL if source.is_dir() else source
    if origin.exists() and shop.journal_path.exists() and origin.samefile(shop.journal_path):
        raise InputError("that is the journal itself", place=str(source), hint="give the second copy")
    found = copying.restore(origin, shop.journal_path, shop.clock, lead.person.actor, accept_shorter=accept_shorter)
    click.echo(f"{shop.journal_path}: restored with {found.size} entries, {found.verdict}")
    click.echo("What was there is kept beside it with `.before` in its name. The key's file was left as it is.")

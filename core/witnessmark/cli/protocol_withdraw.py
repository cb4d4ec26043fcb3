"""`witnessmark protocol withdraw`: a lead ends every approval of a map, at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("withdraw")
@click.argument("map_path", metavar="MAP", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--why", required=True, help="Why, without names.")
@by_option
@pin_option
@shop_option
def withdraw(map_path: Path, why: str, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """End every approval of a map. It holds from the next send on. Only a lead may."""
    from witnessmark.host import acting, approving
    from witnessmark.mapping import load as maps

    map_ = maps.load(map_path)
    lead = acting.lead(shop, by, "withdraw an approval", pin)
    with shop.write() as journal:
        entry = approving.withdraw(journal, lead, map_, why)
    click.echo(f"withdrawn in entry {entry.seq}: nothing of {map_.title} may be sent")

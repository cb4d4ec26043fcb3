"""`witnessmark protocol withdraw`: anybody ends every approval of a map, or of all maps, at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

NOTHING = "nothing is approved in this shop, so there is nothing to withdraw"


@click.command("withdraw")
@click.argument("map_path", metavar="[MAP]", required=False, type=click.Path(dir_okay=False, path_type=Path))
@click.option("--all", "every", is_flag=True, help="Every approval of this shop, whatever the map.")
@click.option("--why", default="", help="Why, without names.")
@by_option
@shop_option
def withdraw(map_path: Path | None, every: bool, why: str, by: str, shop: Shop) -> None:
    """End every approval of a map. It holds from the next send on.

    Anybody may, and no PIN is asked for: the entry says who it was. Only a lead can approve again.
    """
    from witnessmark.host import approving
    from witnessmark.mapping import load as maps
    from witnessmark.people.person import Person

    if (map_path is None) != every:
        raise click.UsageError("give the MAP that was approved, or --all")
    who = Person(by)
    map_ = None if map_path is None else maps.load(map_path)
    if not shop.journal_path.exists():
        click.echo(f"{NOTHING} ({shop.folder})")
        return
    with shop.write() as journal:
        if map_ is None:
            ended, what = approving.withdraw_all(journal, who, why), "of what was approved here"
        else:
            ended, what = approving.withdraw(journal, who, map_, why), f"of {map_.title}"
    if not ended:
        click.echo(NOTHING)
        return
    numbers = ", ".join(str(one.seq) for one in ended)
    click.echo(f"withdrawn by {by} in entry {numbers}: nothing {what} may be sent until a lead approves it again")

"""`witnessmark protocol withdraw`: anybody ends what is approved of a control unit, or everything, at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.host.withdrawing import Withdrawal

NOTHING = "nothing is approved in this shop, so there is nothing to withdraw"


@click.command("withdraw")
@click.argument("map_path", metavar="[MAP]", required=False, type=click.Path(dir_okay=False, path_type=Path))
@click.option("--this-map", is_flag=True, help="Only what was approved of this very map; others of its unit stand on.")
@click.option("--all", "every", is_flag=True, help="Every approval of this shop, whatever the control unit.")
@click.option("--why", default="", help="Why, without names.")
@by_option
@shop_option
def withdraw(map_path: Path | None, this_map: bool, every: bool, why: str, by: str, shop: Shop) -> None:
    """End every approval of the map's control unit, whichever map it was approved with.

    It holds from the next send on; a run that is on goes on to its end. Anybody may, and no PIN is asked for: the
    entry says who it was. Only a lead can approve again.
    """
    from witnessmark.cli.plainly import plain
    from witnessmark.host import withdrawing
    from witnessmark.mapping import load as maps
    from witnessmark.mapping import words
    from witnessmark.people.person import Person

    if (map_path is None) != every or (this_map and every):
        raise click.UsageError("give a MAP of the control unit, or --all; --this-map narrows a MAP")
    who = Person(by)
    map_ = None if map_path is None else maps.load(map_path)
    if not shop.journal_path.exists():
        click.echo(f"{NOTHING} ({shop.folder})")
        return
    with shop.write() as journal:
        if map_ is None:
            what, done = "of what was approved here", withdrawing.withdraw_all(journal, who, why)
        else:
            what = f"of this map of {words.unit(map_)}" if this_map else f"of {words.unit(map_)}, whatever the map,"
            done = withdrawing.withdraw(journal, who, map_, why, this_map=this_map)
        if not done.entries:
            click.echo(NOTHING)
            return
        numbers = ", ".join(str(one.seq) for one in done.entries)
        told = f"withdrawn by {by} in entry {numbers}: nothing {what} may be sent until a lead approves it again"
        for line in (told, *_ended(done)):
            click.echo(plain(line))
        for line in _running(withdrawing.runs_on(journal)):
            click.echo(plain(line))


def _ended(done: Withdrawal) -> Iterator[str]:
    from witnessmark.host.withdrawing import said

    yield f"ended: {said(done.ended)}"
    if done.left:
        yield f"STILL APPROVED for the same control unit with another map: {said(done.left)}"
        yield "  do:  the same command without --this-map ends that too"


def _running(running: dict[str, str]) -> Iterator[str]:
    for job, command in running.items():
        yield f"A RUN MAY BE ON NOW: {command} in job {job}; it ends by itself when its time is up"
        yield "  do:  to end it now press a key on that job's screen, or stop it by hand as the screen says"

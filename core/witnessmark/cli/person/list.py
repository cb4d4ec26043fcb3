"""`witnessmark person list`: the people of the shop, who is signed on, and what changed them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.journal.entry import Entry


@click.command("list")
@click.option("--changes", is_flag=True, help="Every entry that says who was added, removed or changed, and by whom.")
@shop_option
def list_(changes: bool, shop: Shop) -> None:
    """List the people of this shop, and who is signed on.

    Exits with 1 when the people file is not as the journal says.
    """
    from witnessmark.host import roster
    from witnessmark.job.presence import signed_on

    found = roster.of(shop)
    people, here = found.people, {}
    if shop.journal_path.exists():
        with shop.read() as journal:
            here = signed_on(roster.signs(journal))
            if changes:
                for entry in journal.entries(kind="people"):
                    click.echo(_line(entry))
                return
    if not people:
        click.echo("this shop has set no PINs: add the lead with `witnessmark person add ID --role lead`")
    for id_ in sorted({*people.people, *here}):
        role = people.people[id_].role if id_ in people.people else "not of this shop"
        click.echo(f"{id_}: {role}" + (f", signed on in entry {here[id_].seq}" if id_ in here else ""))
    if found.differences:
        click.echo(f"the people file is not as entry {found.seq} says: {'; '.join(found.differences)}", err=True)
        click.echo(f"  do:  put the file back, or put it on record as it is: {found.way_on}", err=True)
        raise click.exceptions.Exit(1)


def _line(entry: Entry) -> str:
    from datetime import datetime

    from witnessmark.audit.assemble import body_of
    from witnessmark.cli.plainly import plain
    from witnessmark.clock import NS
    from witnessmark.report.lines import line

    at = datetime.fromtimestamp(entry.recorded.wall_ns // NS).astimezone().strftime("%Y-%m-%d %H:%M")
    proven = "" if entry.body.get("proven") == "pin" else ", name only"
    return plain(f"{entry.seq:>5}  {at}  {entry.done_by.partition(':')[2]}{proven}: {line(entry.kind, body_of(entry))}")

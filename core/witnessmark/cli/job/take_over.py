"""`witnessmark job take-over FILE`: goes on with a job that began in another bay, from its evidence file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("take-over")
@click.argument("file", type=FILE)
@click.option("--earlier", type=FILE, multiple=True, help="The evidence of the bay before that one; may be repeated.")
@click.option("--as", "name", default=None, metavar="JOB", help="What it is called here. Default: as there.")
@click.option("--anchor", metavar="TEXT|FILE", help="What you hold of it: a checkpoint, a QR text, or `COUNT HEAD`.")
@click.option("--plate", default="", help="Its registration: an evidence file does not hold it.")
@click.option("--customer", default="", help="Whose it is: an evidence file does not hold it.")
@by_option
@shop_option
def take_over(
    file: Path, earlier: tuple[Path, ...], name: str | None, anchor: str | None, plate: str, customer: str, by: str,
    shop: Shop,
) -> None:  # fmt: skip
    """Go on with a job that began in another bay."""
    from witnessmark.cli.anchor import anchor as held
    from witnessmark.host import taking_over
    from witnessmark.people.person import Person

    person = Person(by)
    known = held(anchor) if anchor is not None else None
    made = taking_over.take_over(
        shop, file, person, earlier=earlier, name=name, anchor=known, plate=plate, customer=customer
    )  # fmt: skip
    here = made.entry
    click.echo(f"{file}: {made.verdict}; {here.body['count']} entries of job {here.body['job']}")
    click.echo(f"Job {here.job} goes on here from entry {here.seq}, which cites the other bay's head. It is paused.")
    if made.to:
        click.echo(f"It was handed over to {made.to}: where this is another bay, hand it on and do nothing on it.")
    if not made.marked:
        click.echo("The other bay does not know that it went, and can go on working on it: have it marked there, with")
        click.echo(f"  witnessmark job move {here.body['job']} --to BAY --by ID")
    if made.unended:
        click.echo("A run there has no known end. TREAT IT AS RUNNING; the first thing asked here is to look.")
    for line in made.left:
        click.echo(f"! {line}")
    click.echo(f"go on with: witnessmark job run {here.job} --by {by} --link ADDRESS")

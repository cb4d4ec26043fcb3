"""`witnessmark job move JOB`: the job goes to another bay; says so here, and writes the file that is taken there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.evidence import write_evidence
from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.passphrase import passphrase_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("move")
@click.argument("job")
@click.option("--to", metavar="BAY", help="Where it goes, as the shop calls it: one word.")
@click.option("--as-it-stands", is_flag=True, help="It goes although something stands open on the vehicle: it is told.")
@click.option("--back", is_flag=True, help="It did not go after all: work here goes on.")
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.evidence.json here."
)
@click.option("--unsealed", is_flag=True, help="Without the shop's signature, also when there is a key.")
@by_option
@passphrase_option
@shop_option
def move(
    job: str, to: str | None, as_it_stands: bool, back: bool, output: Path | None, unsealed: bool, by: str,
    passphrase: Callable[[], str], shop: Shop,
) -> None:  # fmt: skip
    """Hand a job over to another bay: an entry here, and the evidence file to take there.

    A job of which a nipple stands open, or the feed's pressure is on, goes only with --as-it-stands.
    """
    from witnessmark.host import handing_over
    from witnessmark.people.person import Person

    if back == (to is not None):
        raise click.UsageError("say where it goes with --to BAY, or with --back that it did not go")
    if to is None:
        entry = handing_over.take_back(shop, job, Person(by))
        click.echo(f"Entry {entry.seq} says that job {job} did not go. If another bay took its file, tell them.")
        return
    shop.need_journal()
    sealed = not unsealed and shop.has_key()
    made = handing_over.hand_over(
        shop, job, to, Person(by), passphrase() if sealed else None, as_it_stands=as_it_stands
    )
    click.echo(f"Job {job} goes to {to}: entry {made.entry.seq}. Nothing more is done on it here.")
    if made.unended:
        click.echo("A run of it has no known end. TREAT IT AS RUNNING; the other bay is asked to look first.")
    for line in made.left:
        click.echo(f"! {line}")
    path = output or Path(f"{job}.evidence.json")
    write_evidence(shop, job, path, made.evidence, sealed)
    click.echo(f"there: witnessmark job take-over {path.name} --by ID")

"""`witnessmark job list`: the jobs of this bay, the last one first; those of a person, or with a finding."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("list")
@click.option("--by", default="", metavar="ID", help="Jobs in which this person did or entered anything.")
@click.option("--finding", default="", metavar="WHAT",
              help="Jobs whose audit leaves it open: a question's number or id, `not met`, or `no proof`.")  # fmt: skip
@shop_option
def list_(by: str, finding: str, shop: Shop) -> None:
    """List the jobs of this bay."""
    from witnessmark.host.history import history
    from witnessmark.host.looking import worked_on
    from witnessmark.job.fold import fold

    found = 0
    with shop.read() as journal:
        lines = journal.jobs()
        for line in lines:
            entries = list(history(journal, line.job))
            why = _why(shop, line.job, finding) if finding else []
            if (by and not worked_on(entries, by)) or (finding and not why):
                continue
            found += 1
            state = fold(entries)
            where = f"{state.cursor}/{len(state.points)} points"
            open_ = "" if state.status == "released" else "  NOT RELEASED"
            click.echo(
                f"{line.job:<10} {state.status:<9} {where:<15} {line.count:>5} entries  {state.procedure.title}{open_}"
            )
            for text in why:
                click.echo(f"    {text}")
    if not lines:
        click.echo("no job yet; open one with `witnessmark job open`")
    elif not found:
        click.echo("no such job", err=True)
        raise click.exceptions.Exit(1)


def _why(shop: Shop, job: str, finding: str) -> list[str]:
    from witnessmark.host.looking import left_open

    return [f"{one.number} {one.title} {one.answer}: {one.text}" for one in left_open(shop, job, finding)]

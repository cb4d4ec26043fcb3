"""`witnessmark job list`: the jobs of this bay, the last one first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("list")
@shop_option
def list_(shop: Shop) -> None:
    """List the jobs of this bay."""
    from witnessmark.host.history import history
    from witnessmark.job.state import fold

    with shop.read() as journal:
        lines = journal.jobs()
        for line in lines:
            state = fold(history(journal, line.job))
            where = f"{state.cursor}/{len(state.points)} points"
            open_ = "" if state.status == "released" else "  NOT RELEASED"
            click.echo(
                f"{line.job:<10} {state.status:<9} {where:<15} {line.count:>5} entries  {state.procedure.title}{open_}"
            )
    if not lines:
        click.echo("no job yet; open one with `witnessmark job open`")

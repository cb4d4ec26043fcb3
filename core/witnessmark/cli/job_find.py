"""`witnessmark job find`: by plate, by VIN, by when it was opened."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from datetime import datetime

    from witnessmark.host.shop import Shop

DAY = click.DateTime(["%Y-%m-%d", "%Y-%m-%d %H:%M"])


@click.command("find")
@click.option("--plate", default="", help="The registration, however it is spaced.")
@click.option("--vin", default="", help="The VIN.")
@click.option("--since", type=DAY, help="Opened on this day or later.")
@click.option("--until", type=DAY, help="Opened before this day.")
@shop_option
def find(plate: str, vin: str, since: datetime | None, until: datetime | None, shop: Shop) -> None:
    """Find jobs by plate, VIN or date."""
    from datetime import datetime

    from witnessmark.clock import NS
    from witnessmark.journal import finding

    if not (plate or vin or since or until):
        raise click.UsageError("say what to look for: --plate, --vin, --since or --until")
    with shop.read() as journal:
        rows = []
        if plate:
            rows.append(finding.by_registration(journal, plate))
        if vin:
            rows.append(finding.by_vin(journal, vin))
        if since or until:
            low, high = (round(day.timestamp()) * NS if day else None for day in (since, until))
            rows.append(finding.by_time(journal, low or 0, 10**19 - 1 if high is None else high))
        found = [job for job in rows[0] if all(job in row for row in rows[1:])]
        for job in found:
            first = next(journal.entries(job))
            at = datetime.fromtimestamp(first.recorded.wall_ns // NS).astimezone().strftime("%Y-%m-%d %H:%M")
            click.echo(
                f"{job:<10} {at}  {journal.job_head(job).count:>5} entries  {first.body.get('title', 'moved here')}"
            )
    if not found:
        click.echo("no such job; a plate that was erased finds nothing", err=True)
        raise click.exceptions.Exit(1)

"""`witnessmark check`: is the whole journal sound? Names each damage, and saves what stands before it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option, write_file

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.option("--anchor", metavar="TEXT|FILE", help="A checkpoint held elsewhere: only it can show `intact`.")
@click.option("--rescue", "job", metavar="JOB", help="Write the entries of this job that stand before the damage.")
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.evidence.json here."
)
@shop_option
def check(anchor: str | None, job: str | None, output: Path | None, shop: Shop) -> None:
    """Check the whole journal, and name what is damaged."""
    from witnessmark.cli.anchor import checkpoint
    from witnessmark.host import checking
    from witnessmark.journal import check as checks

    shop.need_journal()
    if job is not None:
        data = checks.rescue(shop.journal_path, shop.clock, job)
        path = output or Path(f"{job}.evidence.json")
        write_file(path, data)
        click.echo(f"{path}: {len(data)} bytes, not sealed; the entries of job {job} before any damage")
        return
    found = checks.check(shop.journal_path, shop.clock, checkpoint(anchor) if anchor is not None else None)
    click.echo(f"{found.verdict.upper()}: {found.size} entries are sound, root {found.root.hex()}")
    for one in found.damage:
        at = "" if one.seq is None else f" at entry {one.seq}"
        click.echo(f"  {one.where}{at}: {one.text}")
    beside = () if found.damage else checking.beside(shop)
    for line in beside:
        click.echo(f"  {line}")
    if found.damage:
        click.echo("  do: copy the folder as it is; `check --rescue JOB` saves a job, `restore` takes the second copy,")
        click.echo("  and where there is none `accept-loss` goes on after a lost end")
    elif found.anchor_size is None:
        click.echo("  that all of it was made anew would show only against a checkpoint held elsewhere (--anchor)")
    if found.damage or beside:
        raise click.exceptions.Exit(1)

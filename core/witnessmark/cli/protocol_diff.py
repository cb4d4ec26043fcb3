"""`witnessmark protocol diff`: what differs between two maps, in words. Exit code 1 when something does."""

from __future__ import annotations

from pathlib import Path

import click

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("diff")
@click.argument("first", type=FILE)
@click.argument("second", type=FILE)
def diff(first: Path, second: Path) -> None:
    """Say what differs between two maps: two vehicles, or one before and after an update."""
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.diff import differences

    found = differences(maps.load_vehicle(first), maps.load_vehicle(second))
    for one in found:
        click.echo(f"{one.unit}: {one.text}")
    if not found:
        click.echo("nothing differs in what both know")
        return
    raise click.exceptions.Exit(1)

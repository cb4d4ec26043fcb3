"""`witnessmark protocol take`: takes one control unit out of the map of a vehicle, as jobs and approvals need it."""

from __future__ import annotations

from pathlib import Path

import click

from witnessmark.cli.options import keep_map, write_file

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("take")
@click.argument("map_path", metavar="MAP", type=FILE)
@click.option("--unit", default="", metavar="HEX", help="The control unit that answers there.")
@click.option("-o", "--output", required=True, type=FILE, help="The map of that unit alone.")
@click.option("--force", is_flag=True, help="Write over a map that is there, and what people named in it.")
def take(map_path: Path, unit: str, output: Path, force: bool) -> None:
    """Take one control unit out of the map of a vehicle."""
    from witnessmark.mapping import load as maps

    keep_map((output,), force)
    one = maps.pick(maps.load_vehicle(map_path), unit)
    write_file(output, maps.to_text(one).encode())
    click.echo(f"{one.title} written to {output}")

"""`witnessmark protocol join`: what two maps know of one vehicle, in one map."""

from __future__ import annotations

from pathlib import Path

import click

from witnessmark.cli.options import keep_map, write_file

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("join")
@click.argument("first", type=FILE)
@click.argument("second", type=FILE)
@click.option("--one-vehicle", is_flag=True, help="You say that both are of one vehicle, where nothing read shows it.")
@click.option("-o", "--output", required=True, type=FILE, help="The map of the vehicle with what both know.")
@click.option("--force", is_flag=True, help="Write over a map that is there, and what people named in it.")
def join(first: Path, second: Path, one_vehicle: bool, output: Path, force: bool) -> None:
    """Join what a probe read and what listening learned of one vehicle.

    Control units are joined by where they answer. Two that identify themselves differently are refused.
    """
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.join import VIN
    from witnessmark.mapping.join import join as joined

    keep_map((output,), force)
    found = joined(maps.load_vehicle(first), maps.load_vehicle(second), one_vehicle=one_vehicle)
    write_file(output, maps.to_text(found.vehicle).encode())
    why = "on your word" if found.on_word else f"as another unit tells the same {VIN}"
    for answer, identifiers in found.by.items():
        shown = ", ".join(identifiers)
        click.echo(f"{answer}: " + (f"both know the same {shown}" if shown else f"joined by its address, {why}"))
    units = len(found.vehicle.units)
    click.echo(f"{units} control unit{'' if units == 1 else 's'}, map written to {output}")

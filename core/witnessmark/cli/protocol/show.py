"""`witnessmark protocol show`: a map as tables, or as an HTML page with its matrix."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option, write_file

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.mapping.model import ProtocolMap

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("show")
@click.argument("map_path", metavar="MAP", type=FILE)
@click.option("--unit", default="", metavar="HEX", help="Only the control unit that answers there.")
@click.option("--html", "html_path", type=FILE, help="Write an HTML page with the matrix of services instead.")
@shop_option
def show(map_path: Path, unit: str, html_path: Path | None, shop: Shop) -> None:
    """Show what a vehicle speaks, as far as it is known, and what is approved in this shop."""
    from witnessmark.cli.tables import draw
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.show import overview, tables

    vehicle = maps.load_vehicle(map_path)
    if html_path is not None:
        from witnessmark.mapping.matrix import matrix

        write_file(html_path, matrix(vehicle).encode())
        click.echo(f"written to {html_path}")
        return
    if vehicle.invented:
        click.echo("invented, for practice only")
    draw(overview(vehicle))
    for one in (maps.pick(vehicle, unit),) if unit else vehicle.units:
        for table in tables(one):
            draw(table)
        _approvals(one, shop)


def _approvals(unit: ProtocolMap, shop: Shop) -> None:
    from witnessmark.job.allowed.approval import standing
    from witnessmark.mapping.load import digest

    if not unit.wire_commands or not shop.journal_path.exists():
        return
    with shop.read() as journal:
        entries = list(journal.entries(kind="approval"))
    there = standing(entries).get(digest(unit), [])
    for command in unit.wire_commands:
        said = ", ".join(
            f"approved in entry {one.seq}"
            + (" for one procedure alone" if one.body.procedure_digest else "")
            + _updated(unit, one.body.identification)
            for one in there
            if command.id in one.body.wire_commands
        )
        click.echo(f"  {command.id}: {said or 'not approved in this shop'}")


def _updated(unit: ProtocolMap, approved: Mapping[str, str]) -> str:
    """Return for which software it is approved, where that is not the map's."""
    from witnessmark.mapping import words

    said = {one.identifier: one.value.upper() for one in unit.identification}
    others = [f"{name} {words.spelled(value)}" for name, value in approved.items() if said.get(name) != value.upper()]
    return f" for {', '.join(others)} alone" if others else ""

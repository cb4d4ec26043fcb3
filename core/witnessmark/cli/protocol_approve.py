"""`witnessmark protocol approve`: a lead allows a map's wire commands for one control unit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("approve")
@click.argument("map_path", metavar="MAP", type=FILE)
@click.option("--procedure", "procedure_path", type=FILE, help="Only what this procedure's passes need, for it alone.")
@click.option("--command", "commands", multiple=True, metavar="ID", help="Only this wire command; may be repeated.")
@click.option("--link", default="", metavar="ADDRESS", help="Read the control unit first and refuse another one.")
@click.option("--why", default="", help="What the approval rests on, without names.")
@by_option
@pin_option
@shop_option
def approve(
    map_path: Path, procedure_path: Path | None, commands: tuple[str, ...], link: str, why: str, by: str,
    pin: Callable[[], str], shop: Shop,
) -> None:  # fmt: skip
    """Allow a map's wire commands for the control unit it identifies. Only a lead may."""
    from witnessmark.host import acting, approving
    from witnessmark.host.speaking import conversation
    from witnessmark.mapping import load as maps
    from witnessmark.procedure import load as procedures

    map_ = maps.load(map_path)
    procedure = procedures.load(procedure_path) if procedure_path else None
    lead = acting.lead(shop, by, "approve a wire command", pin)
    if link:
        with conversation(link) as talk:
            approving.check_unit(talk, map_)
        click.echo("the control unit identifies itself as the map says")
    with shop.write() as journal:
        entry = approving.approve(journal, lead, map_, procedure=procedure, wire_commands=commands, why=why)
    click.echo(f"approved in entry {entry.seq} for {map_.title}:")
    for name in entry.body["wire_commands"]:
        words = next(one.words for one in map_.wire_commands if one.id == name)
        click.echo(f"  {name}: {words}")
    click.echo("it holds for " + ", ".join(f"{key} {value}" for key, value in entry.body["identification"].items()))
    if lead.proven != "pin":
        click.echo("note: this shop has set no PINs, so your id was taken at its word", err=True)

"""`witnessmark protocol diff`: what differs between two maps, in words. Exit code 1 when something does."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from witnessmark.mapping.diff import Difference

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("diff")
@click.argument("first", type=FILE)
@click.argument("second", type=FILE)
@click.option("--all", "everything", is_flag=True, help="Also what differs in names, sources, counts and moments.")
def diff(first: Path, second: Path, everything: bool) -> None:
    """Say what differs between two maps: two vehicles, or one before and after an update."""
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.diff import differences

    before, after = maps.load_vehicle(first), maps.load_vehicle(second)
    found = differences(before, after)
    by_kind = {kind: [one for one in found if one.kind == kind] for kind in ("differs", "one knows", "beside")}
    _tell(by_kind["differs"])
    if not by_kind["differs"]:
        click.echo("nothing differs in what both know")
    if by_kind["one knows"]:
        click.echo("no difference, for the other does not say:")
        _tell(by_kind["one knows"], "  ")
    beside = by_kind["beside"]
    if beside:
        times = "once" if len(beside) == 1 else f"{len(beside)} times"
        click.echo(f"names, sources, counts or moments differ {times}" + (":" if everything else "; --all tells where"))
        _tell(beside if everything else [], "  ")
    if found and any(one.wire_commands for one in before.units):
        click.echo("an approval holds for one map as it is: none of the first holds for the second")
    if by_kind["differs"]:
        raise click.exceptions.Exit(1)


def _tell(found: Sequence[Difference], margin: str = "") -> None:
    for one in found:
        click.echo(margin + (f"{one.unit}: {one.text}" if one.unit else one.text))

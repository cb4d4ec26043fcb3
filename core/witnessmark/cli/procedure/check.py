"""`witnessmark procedure check FILE`: every mistake, with its line and key."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("check")
@click.argument("files", type=FILE, nargs=-1, required=True)
@click.option(
    "--map",
    "map_path",
    type=FILE,
    help="A protocol map: has it the wire commands the passes need, may they run so long, can what it reads hold?",
)
def check(files: tuple[Path, ...], map_path: Path | None) -> None:
    """Say whether procedures can be used; explain every mistake with line and key."""
    from witnessmark.errors import InputError
    from witnessmark.host.approving import needed
    from witnessmark.job.allowed.agreeing import disagreements
    from witnessmark.job.allowed.length import WAY_ON, unfit_passes
    from witnessmark.mapping import load as maps
    from witnessmark.procedure import load as procedures

    spoken = maps.load(map_path) if map_path else None
    known = {one.id for one in spoken.wire_commands} if spoken else None
    wrong = 0
    for path in files:
        try:
            read = procedures.load(path)
            procedures.refuse_at(path, disagreements(read, spoken) if spoken else ())
        except InputError as error:
            wrong += 1
            click.echo(f"{error}\n  do: {error.hint}")
            continue
        missing = [one for one in needed(read) if known is not None and one not in known]
        if missing:
            wrong += 1
            click.echo(f"{path.name}: the map does not have {', '.join(missing)}\n  do: give a map that has")
            continue
        unfit = unfit_passes(read, read.passes, spoken)
        if unfit:
            wrong += 1
            said = "; ".join(f"pass {name}: {why}" for name, why in unfit.items())
            click.echo(f"{path.name}: {said}\n  do: {WAY_ON}")
            continue
        said = "invented, for practice only" if read.invented else f"source: {read.source}"
        counts = f"{_many(read.passes, 'pass', 'passes')}, {_many(read.nipples, 'nipple', 'nipples')}"
        click.echo(f"{path.name}: good. {counts}; {said}")
    if wrong:
        raise click.exceptions.Exit(1)


def _many(things: Sequence[object], one: str, more: str) -> str:
    return f"{len(things)} {one if len(things) == 1 else more}"

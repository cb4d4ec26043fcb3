"""`witnessmark card PROCEDURE`: the blank card, for when every screen is dead."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("procedure", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--scope", default="full", show_default=True, help="`full`, or `nipples ID,ID`.")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: PROCEDURE.card.html.")
def card(procedure: Path, scope: str, output: Path | None) -> None:
    """Write a blank card of a procedure, for when every screen is dead.

    What is written on it is keyed in with `job enter`.
    """
    from witnessmark.cli.paper import write_paper
    from witnessmark.host.carding import card as draw
    from witnessmark.procedure import load as procedures
    from witnessmark.procedure.plan import parse_scope, plan

    read = procedures.load(procedure)
    write_paper(str(procedure), "card", output, draw(read, plan(read, parse_scope(scope))))

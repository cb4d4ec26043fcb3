"""`witnessmark card PROCEDURE`: the blank card, for when every screen is dead."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("procedure", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--scope", default="full", show_default=True,
              help="`full`, `nipples ID,ID`, or `follows JOB`: what that job left open comes first.")  # fmt: skip
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: PROCEDURE.card.html.")
@shop_option
def card(procedure: Path, scope: str, output: Path | None, shop: Shop) -> None:
    """Write a blank card of a procedure, for when every screen is dead.

    What is written on it is keyed in with `job enter`, each line as it stands on the card: time, value, what is ticked,
    words.
    """
    from witnessmark.cli.paper import write_paper
    from witnessmark.host import comeback
    from witnessmark.host.card.carding import card as draw
    from witnessmark.procedure import load as procedures
    from witnessmark.procedure.plan import parse_scope, plan

    read = procedures.load(procedure)
    scope, earlier = comeback.follow(shop, scope) if scope.startswith("follows") else (scope, ())
    write_paper(str(procedure), "card", output, draw(read, plan(read, parse_scope(scope)), earlier))

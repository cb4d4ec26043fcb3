"""`witnessmark statement JOB`: a plain page or two for a dispute."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import earlier_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.statement.html here."
)
@earlier_option
@shop_option
def statement(job: str, output: Path | None, earlier: tuple[Path, ...], shop: Shop) -> None:
    """Write one plain page for a dispute, two where much is open.

    What is shown, what has no proof, who said it, and what no record can prove.
    """
    from witnessmark.cli.paper import told, write_paper
    from witnessmark.report.statement import statement as draw

    write_paper(job, "statement", output, draw(told(shop, job, earlier)))

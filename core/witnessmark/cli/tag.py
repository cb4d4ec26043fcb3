"""`witnessmark tag JOB`: the key tag, NOT RELEASED with what is open."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import earlier_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.tag.html here.")
@earlier_option
@shop_option
def tag(job: str, output: Path | None, earlier: tuple[Path, ...], shop: Shop) -> None:
    """Write the key tag: NOT RELEASED with what is open.

    Once the job is released it says so, and by whom.
    """
    from witnessmark.cli.paper import told, write_paper
    from witnessmark.report.statement import tag as draw

    write_paper(job, "tag", output, draw(told(shop, job, earlier)))

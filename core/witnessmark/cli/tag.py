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

    Once the job is released it says so, and by whom; what another job of this bay left open on the vehicle is on top.
    """
    from witnessmark.cli.paper import told, write_paper
    from witnessmark.host.other_jobs import against
    from witnessmark.report.statement import tag as draw

    facts = told(shop, job, earlier)
    others: tuple[str, ...] = ()
    if not Path(job).is_file():
        with shop.read() as journal:
            others = against(journal, job)
    write_paper(job, "tag", output, draw(facts, others))

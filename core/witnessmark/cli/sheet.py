"""`witnessmark sheet JOB`: one self-contained HTML file that prints, or the same facts as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option, write_file

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.sheet.html here.")
@click.option("--json", "as_json", is_flag=True, help="The same facts as JSON, printed.")
@shop_option
def sheet(job: str, output: Path | None, as_json: bool, shop: Shop) -> None:
    """Write the sheet of a job, or of an evidence file: one HTML file that prints."""
    from datetime import datetime

    from witnessmark.clock import NS
    from witnessmark.host.auditing import audit_evidence
    from witnessmark.report.facts import facts
    from witnessmark.report.sheet import sheet as draw

    data, name = shop.evidence_or_file(job)
    zone = datetime.fromtimestamp(shop.clock.stamp().wall_ns // NS).astimezone().tzinfo
    assert zone is not None
    told = facts(audit_evidence(data, name=name).audit, zone=zone)
    if as_json:
        import json

        click.echo(json.dumps(told, indent=2))
        return
    path = output or Path(f"{Path(job).name.removesuffix('.json').removesuffix('.evidence')}.sheet.html")
    write_file(path, draw(told).encode())
    click.echo(f"{path}: open it in a browser, or print it")

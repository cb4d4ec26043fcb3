"""`witnessmark evidence JOB`: writes one job's evidence file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import passphrase_option, shop_option, write_file

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.evidence.json here."
)
@click.option("--unsealed", is_flag=True, help="Without the shop's signature, also when there is a key.")
@passphrase_option
@shop_option
def evidence(job: str, output: Path | None, unsealed: bool, passphrase: str | None, shop: Shop) -> None:
    """Write one job's evidence file."""
    if unsealed or not shop.has_key():
        passphrase = None
    elif passphrase is None:
        passphrase = click.prompt("passphrase of the shop's key", hide_input=True, default="", show_default=False)
    data = shop.evidence(job, passphrase)
    path = output or Path(f"{job}.evidence.json")
    write_file(path, data)
    click.echo(f"{path}: {len(data)} bytes, {'not sealed' if passphrase is None else 'sealed with the shop key'}")

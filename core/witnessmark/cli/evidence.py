"""`witnessmark evidence JOB`: writes one job's evidence file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option, write_file
from witnessmark.cli.passphrase import passphrase_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option(
    "-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.evidence.json here."
)
@click.option("--unsealed", is_flag=True, help="Without the shop's signature, also when there is a key.")
@click.option(
    "--anchor", "anchors", multiple=True, metavar="TEXT|FILE",
    help="A checkpoint that somebody holds: the file then leads from it too. May be repeated.",
)  # fmt: skip
@passphrase_option
@shop_option
def evidence(
    job: str, output: Path | None, unsealed: bool, anchors: tuple[str, ...], passphrase: Callable[[], str], shop: Shop
) -> None:
    """Write one job's evidence file."""
    from witnessmark.cli.anchor import checkpoint

    held = [checkpoint(one) for one in anchors]
    with shop.read() as journal:
        journal.job_texts(job)
    sealed = not unsealed and shop.has_key()
    data = shop.evidence(job, passphrase() if sealed else None, held)
    write_evidence(shop, job, output or Path(f"{job}.evidence.json"), data, sealed)


def write_evidence(shop: Shop, job: str, path: Path, data: bytes, sealed: bool) -> None:
    """Write a job's evidence to `path` and that of the bays before beside it, and say so."""
    from witnessmark.journal import moving

    with shop.read() as journal:
        earlier = moving.earlier_evidence(journal, job)
    write_file(path, data)
    click.echo(f"{path}: {len(data)} bytes, {'sealed with the shop key' if sealed else 'not sealed'}")
    for number, one in enumerate(earlier, 1):
        before = path.with_name(f"{path.name.removesuffix('.json').removesuffix('.evidence')}.earlier{number}.json")
        write_file(before, one)
        click.echo(f"{before}: {len(one)} bytes, of the bay before; give it with --earlier")

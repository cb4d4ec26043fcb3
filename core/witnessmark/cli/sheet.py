"""`witnessmark sheet JOB`: one self-contained HTML file that prints, or the same facts as JSON."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import earlier_option, shop_option, write_file
from witnessmark.cli.passphrase import passphrase_option

if TYPE_CHECKING:
    from witnessmark.host.dossier import Dossier
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option("-o", "--output", type=click.Path(dir_okay=False, path_type=Path), help="Default: JOB.sheet.html here.")
@click.option("--json", "as_json", is_flag=True, help="The same facts as JSON, printed; signs nothing.")
@click.option("--unsealed", is_flag=True, help="Without the shop's signature, also when there is a key.")
@earlier_option
@passphrase_option
@shop_option
def sheet(
    job: str, output: Path | None, as_json: bool, unsealed: bool, earlier: tuple[Path, ...],
    passphrase: Callable[[], str], shop: Shop,
) -> None:  # fmt: skip
    """Write the sheet of a job, or of an evidence file: one HTML file that prints."""
    from datetime import datetime

    from witnessmark.clock import NS
    from witnessmark.report.facts import facts
    from witnessmark.report.sheet import sheet as draw

    found = _dossier(shop, job, earlier, None if unsealed or as_json else passphrase)
    zone = datetime.fromtimestamp(shop.clock.stamp().wall_ns // NS).astimezone().tzinfo
    assert zone is not None
    beside = found.with_photos
    told = facts(found.audited().audit, zone=zone, beside=beside)
    if as_json:
        import json

        click.echo(json.dumps(told, indent=2))
        return
    path = output or Path(f"{Path(job).name.removesuffix('.json').removesuffix('.evidence')}.sheet.html")
    write_file(path, draw(told, beside.photos).encode())
    click.echo(f"{path}: open it in a browser, or print it")
    sealed = told["record"]["seal"]
    if sealed:
        click.echo(f"sealed with key {sealed['key_id']}: the code on it pins all {sealed['size']} entries so far")
    else:
        click.echo("not sealed: what the customer holds then does not show that entries were changed later")


def _dossier(shop: Shop, job: str, earlier: tuple[Path, ...], passphrase: Callable[[], str] | None) -> Dossier:
    """Return what the sheet is made from; sealed, and the sheet an entry, when it is a job of a journal with a key."""
    from witnessmark.host import dossier
    from witnessmark.journal import keys, sealing

    found = dossier.of_target(shop, job, earlier)
    if found.values is None or passphrase is None or not shop.has_key():
        return found
    with shop.write() as journal:
        signer = keys.load(journal, passphrase())
        made = sealing.seal_job(journal, signer, job, "machine:journal", sheet=True, why="printed")
        return dossier.of_journal(journal, job, shop.clock, made.note, policy=dossier.policy_of(shop))

"""`witnessmark sheet JOB`: one self-contained HTML file that prints, or the same facts as JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import earlier_option, shop_option, write_file
from witnessmark.cli.passphrase import passphrase_option

if TYPE_CHECKING:
    from witnessmark.host.dossier import Dossier
    from witnessmark.host.shop import Shop
    from witnessmark.report.kept import Photo


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
    """Write the sheet of a job, or of an evidence file: one HTML file that prints.

    Attached photos stand in it as they entered, byte for byte and not scaled down: up to 6 MB each and 24 MB together.
    What is larger, or no picture, is named with its hash alone. On paper a photo is at most half a page wide and 80 mm
    high. What the camera wrote into its file, such as a place, is in the sheet as well.
    """
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
    data = draw(told, beside.photos).encode()
    write_file(path, data)
    click.echo(f"{path}: open it in a browser, or print it")
    click.echo(_weight(len(data), beside.photos))
    sealed = told["record"]["seal"]
    if sealed:
        click.echo(f"sealed with key {sealed['key_id']}: the code on it pins all {sealed['size']} entries so far")
    else:
        click.echo("not sealed: what the customer holds then does not show that entries were changed later")


def _weight(size: int, photos: Mapping[str, Photo]) -> str:
    """Return how large the sheet is, and how many photos it holds and leaves out."""
    from witnessmark.audit.say import counted

    shown = [one for one in photos.values() if one.address]
    left = len(photos) - len(shown)
    inside = f", {counted(len(shown), 'photo')} in it as entered" if shown else ""
    outside = f"; {counted(left, 'file')} not shown in it: it says why" if left else ""
    return f"{spell_size(size)}{inside}{outside}"


def spell_size(size: int) -> str:
    """Return a number of bytes as `412 kB` or `5.3 MB`, rounded up so that it fits where it has to."""
    return f"{-(-size // 1000)} kB" if size < 1_000_000 else f"{-(-size // 100_000) / 10:.1f} MB"


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

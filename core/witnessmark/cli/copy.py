"""`witnessmark copy DEST`: a second copy of the journal, verified after. For a timer too: one line, an exit code."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("dest")
@shop_option
def copy(dest: str, shop: Shop) -> None:
    """Copy the journal to another place, and verify the copy."""
    from witnessmark.errors import InputError
    from witnessmark.host.shop import JOURNAL
    from witnessmark.journal import copying

    shop.need_journal()
    if not dest.strip():
        raise InputError("no place is named", place="DEST", hint="give a folder on another disk; `.` for this one")
    place = Path(dest)
    target = place / JOURNAL if place.is_dir() else place
    if target.exists() and target.samefile(shop.journal_path):
        raise InputError("that is the journal itself", place=dest, hint="give a folder on another disk")
    if not target.parent.is_dir():
        raise InputError("there is no such folder", place=str(target.parent), hint="make it first, or mount its disk")
    found = copying.copy(shop.journal_path, target, shop.clock)
    click.echo(f"{target}: {found.size} entries, {found.verdict}, root {found.root.hex()}")

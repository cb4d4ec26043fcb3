"""The facts of a job or an evidence file, and writing a paper made of them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from witnessmark.cli.options import write_file

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


def told(shop: Shop, target: str, earlier: Sequence[Path] = ()) -> dict[str, Any]:
    """Return the facts of a job's id or an evidence file. Raises InputError when it is neither."""
    from datetime import datetime

    from witnessmark.clock import NS
    from witnessmark.host import dossier
    from witnessmark.report.facts import facts

    found = dossier.of_target(shop, target, earlier)
    zone = datetime.fromtimestamp(shop.clock.stamp().wall_ns // NS).astimezone().tzinfo
    assert zone is not None
    return facts(found.audited().audit, zone=zone, beside=found.beside)


def write_paper(target: str, what: str, output: Path | None, html: str) -> None:
    """Write a paper beside where the command runs, or to `output`, and say where."""
    stem = Path(target).name.removesuffix(".json").removesuffix(".evidence").removesuffix(".toml")
    path = output or Path(f"{stem}.{what}.html")
    write_file(path, html.encode())
    click.echo(f"{path}: open it in a browser, or print it")

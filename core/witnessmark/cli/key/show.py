"""`witnessmark key show`: the public key to post, and those before it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("show")
@shop_option
def show(shop: Shop) -> None:
    """Print the public key to post, and those before it."""
    from datetime import datetime

    from witnessmark.clock import NS
    from witnessmark.errors import JournalError
    from witnessmark.journal import keys

    with shop.read() as journal:
        found = list(journal.entries(kind="key"))
        there = keys.path_of(journal.path).exists()
    if not found:
        raise JournalError("the journal has no key", hint="make one with `witnessmark key new`")
    for number, entry in enumerate(found, 1):
        day = datetime.fromtimestamp(entry.recorded.wall_ns // NS).astimezone().strftime("%Y-%m-%d %H:%M")
        use = "in use" if number == len(found) else "replaced"
        vouched = "vouched for by the one before" if entry.body.get("vouched") else "stands for itself"
        click.echo(f"{entry.body['key']}\n  {use} since {day}, entry {entry.seq}; {vouched}")
    if not there:
        click.echo("The file of the private key is gone, and nothing can be signed: put its copy back,", err=True)
        click.echo("or make a key that stands for itself with `witnessmark key new`.", err=True)

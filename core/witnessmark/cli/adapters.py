"""`witnessmark adapters`: what is installed and how its addresses are written. Imports no plugin."""

from __future__ import annotations

import click

from witnessmark.host import plugins


@click.command()
def adapters() -> None:
    """List adapters, who ships them, and how an address is written."""
    found = plugins.installed()
    width = max((len(one.usage or one.scheme) for one in found), default=0)
    for one in found:
        usage = one.usage or f"{one.scheme}:..."
        click.echo(f"{usage:<{width}}  {one.summary or 'says nothing of itself'}  [{one.distribution} {one.version}]")
    if not found:
        click.echo("no adapter is installed; install Witnessmark again", err=True)
        raise click.exceptions.Exit(1)

"""`witnessmark adapters`: what is installed, what is plugged in, and whether a link works. Bare, it lists and imports
no plugin: what is marked broken is what shows without."""

from __future__ import annotations

import click

from witnessmark.cli.lazy import LazyGroup
from witnessmark.cli.table import ADAPTERS
from witnessmark.host import plugins


@click.group(cls=LazyGroup, table=ADAPTERS, invoke_without_command=True)
@click.pass_context
def adapters(context: click.Context) -> None:
    """List adapters, who ships them, and how an address is written."""
    if context.invoked_subcommand is not None:
        return
    found = plugins.installed()
    width = max((len(one.usage or f"{one.scheme}:...") for one in found), default=0)
    for one in found:
        usage = one.usage or f"{one.scheme}:..."
        click.echo(f"{usage:<{width}}  {one.summary or 'says nothing of itself'}  [{one.distribution} {one.version}]")
        if one.wrong is not None:
            click.echo(f"{'':<{width}}  BROKEN: {one.wrong.what}\n{'':<{width}}  do: {one.wrong.hint}")
    if not found:
        click.echo("no adapter is installed; install Witnessmark again", err=True)
        raise click.exceptions.Exit(1)
    click.echo("nothing was loaded; `witnessmark doctor` loads each one and tells what is wrong with it")

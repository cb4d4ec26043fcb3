"""`witnessmark adapters find`: what is plugged in, and the address to type."""

from __future__ import annotations

import click

from witnessmark.errors import PluginError, WitnessmarkError
from witnessmark.host import plugins


@click.command()
def find() -> None:
    """List what is plugged in, and the address to type."""
    lines: list[tuple[str, str]] = []
    broken = False
    for scheme in dict.fromkeys(one.scheme for one in plugins.installed()):
        try:
            lines += [(str(address), words) for address, words in plugins.Adapter(scheme).find()]
        except WitnessmarkError as error:
            broken = broken or isinstance(error, PluginError)
            click.echo(f"{scheme}: {error}\n  do:  {error.hint}", err=True)
    width = max((len(address) for address, _ in lines), default=0)
    for address, words in lines:
        click.echo(f"{address:<{width}}  {words.replace('n/a', 'serial port')}")  # pyserial's word for no name
    if not lines:
        click.echo("nothing is plugged in that an installed adapter finds; `witnessmark adapters` shows the addresses")
    if broken:
        raise click.exceptions.Exit(1)

"""`witnessmark doctor`: loads every plugin by itself and names the broken ones with their reason."""

from __future__ import annotations

import platform
import sqlite3

import click

from witnessmark import __version__
from witnessmark.host import plugins


@click.command()
def doctor() -> None:
    """Load every plugin and say what is wrong with it."""
    click.echo(f"witnessmark {__version__}, Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}")
    wrong = {error.plugin: error for error in plugins.problems()}
    for one in plugins.installed():
        error = wrong.get(one.scheme)
        state = "ok" if error is None else f"BROKEN: {error.what}"
        click.echo(f"  {one.scheme:<12} {one.distribution} {one.version}  {state}")
        if error is not None:
            click.echo(f"  {'':<12} do: {error.hint}")
    if wrong:
        click.echo(f"{len(wrong)} of the plugins cannot be used; the others work.")
        raise click.exceptions.Exit(1)
    click.echo("all plugins load.")

"""`witnessmark doctor`: loads every plugin by itself and names the broken ones with their reason."""

from __future__ import annotations

import platform
import sqlite3
import textwrap
from collections import defaultdict
from collections.abc import Sequence

import click

from witnessmark import __version__
from witnessmark.host.survey import Surveyed, survey
from witnessmark.plugin import API_VERSION, CONTRACT_VERSION

WIDTH = 100


@click.command()
def doctor() -> None:
    """Load every plugin and say what is wrong with it."""
    click.echo(f"witnessmark {__version__}, Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}")
    click.echo(f"plugin interface {API_VERSION}, contract of the adapters {CONTRACT_VERSION}")
    wrong: list[str] = []
    for kind, found in survey().items():
        click.echo(f"{kind}:")
        if kind == "audit questions":
            _together([one for one in found if one.wrong is None])
        for one in found:
            if one.wrong is not None or kind != "audit questions":
                _line(one)
        wrong += [one.plugin.scheme for one in found if one.wrong is not None]
    if wrong:
        click.echo(f"{', '.join(dict.fromkeys(wrong))} cannot be used; all others work.")
        raise click.exceptions.Exit(1)
    click.echo("all plugins load.")


def _line(one: Surveyed) -> None:
    plugin, error = one.plugin, one.wrong
    state = "ok" if error is None else f"BROKEN: {' '.join(error.what.split())}"
    click.echo(f"  {plugin.scheme:<12} {plugin.distribution} {plugin.version}  {state}")
    if error is not None:
        click.echo(f"  {'':<12} do: {error.hint}")
    elif one.remark:
        click.echo(f"  {'':<12} {one.remark}")


def _together(found: Sequence[Surveyed]) -> None:
    """Tell the good ones a distribution at a time: there are many, and little to say of each."""
    shipped: dict[str, list[str]] = defaultdict(list)
    for one in found:
        shipped[f"{one.plugin.distribution} {one.plugin.version}"].append(one.plugin.scheme)
    for owner, names in shipped.items():
        words = f"  {owner}  {len(names)} ok: {', '.join(names)}"
        click.echo(textwrap.fill(words, WIDTH, subsequent_indent=" " * 4, break_on_hyphens=False))

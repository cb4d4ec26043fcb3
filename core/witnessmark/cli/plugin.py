"""`witnessmark plugin`: begin a plugin of your own."""

from __future__ import annotations

from pathlib import Path

import click

from witnessmark.host.extending.newplugin import write_plugin


@click.group()
def plugin() -> None:
    """Begin a plugin of your own."""


@plugin.command()
@click.argument("name")
@click.option(
    "--in",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path(),
    help="Folder to write it to; here when not given.",
)
def new(name: str, folder: Path) -> None:
    """Write an adapter NAME that works, with its contract test, as a distribution of its own."""
    written = write_plugin(name, folder)
    for path in written:
        click.echo(str(path))
    click.echo(f"next: cd {written[0].parent} && pip install -e '.[dev]' && pytest && mypy")

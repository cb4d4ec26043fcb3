"""Options that several commands share: which shop, and who acts."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


def shop_option(command: Command) -> Command:
    """Add `--shop FOLDER`; the command gets a Shop on the system's clock as `shop`."""
    return click.option(
        "--shop",
        metavar="FOLDER",
        callback=_shop,
        help="The shop's folder. Default: $WITNESSMARK_SHOP, else your data folder.",
    )(command)


def by_option(command: Command) -> Command:
    """Add `--by ID`; the command gets the person's id as `by`. No name: ids are what entries hold."""
    return click.option(
        "--by", metavar="ID", callback=_by, help="Your id (letters and digits, no name). Default: $WITNESSMARK_PERSON."
    )(command)


def say_clock(said: str) -> None:
    """Print which clock an entry has its time from, where there could be two (`host.job_clock`)."""
    if said:
        click.echo(said)


def earlier_option(command: Command) -> Command:
    """Add `--earlier FILE`, which may be repeated; the command gets the paths as `earlier`."""
    return click.option(
        "--earlier",
        type=click.Path(dir_okay=False, path_type=Path),
        multiple=True,
        help="Of a file whose job moved: the evidence of the bay before; may be repeated, the first bay first.",
    )(command)


def write_file(path: Path, data: bytes, hint: str = "choose another place with --output") -> None:
    """Write `data` to `path` whole or not at all. Raises InputError with the hint when it cannot be written."""
    from witnessmark.errors import InputError

    draft = path.with_name(path.name + ".part")
    try:
        draft.write_bytes(data)
        os.replace(draft, path)
    except OSError as error:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)
        raise InputError(f"cannot be written: {error.strerror}", place=str(path), hint=hint) from error


def keep_map(paths: Iterable[Path], force: bool) -> None:
    """Raise InputError where one of `paths` is there already: a map is written over only by force."""
    from witnessmark.errors import InputError

    for path in paths:
        if path.exists() and not force:
            raise InputError(
                "is there already, with what people named in it",
                place=str(path),
                hint="choose another --output, or write over it with --force",
            )


def _shop(context: click.Context, parameter: click.Parameter, folder: str | None) -> object:
    from witnessmark.host.shop import Shop, default_folder

    return Shop(Path(folder) if folder else default_folder())


def _by(context: click.Context, parameter: click.Parameter, by: str | None) -> str:
    found = by or os.environ.get("WITNESSMARK_PERSON", "")
    if not found:
        raise click.UsageError("who are you? Add --by ID, or set WITNESSMARK_PERSON for this bay.", context)
    return found

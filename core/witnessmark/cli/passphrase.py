"""The passphrase of the shop's key: asked without showing it, a new one twice, or read from a file.

Rule that holds here: one that is asked for is asked only when it is needed, after everything else was found right.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from witnessmark.cli import hidden

Command = TypeVar("Command", bound=Callable[..., Any])
FILE = click.Path(dir_okay=False, path_type=Path)


def passphrase_option(command: Command) -> Command:
    """Add `--passphrase-file FILE`; the command gets a function that gives the passphrase as `passphrase`."""
    return click.option(
        "--passphrase-file", "passphrase", type=FILE, callback=_present,
        help="A file with the key's passphrase. Default: you are asked.",
    )(command)  # fmt: skip


def new_passphrase_option(name: str) -> Callable[[Command], Command]:
    """Add the option called `name`; the command gets a function that gives the new one as `new_passphrase`."""

    def add(command: Command) -> Command:
        return click.option(
            name, "new_passphrase", type=FILE, callback=_new,
            help="A file with the new key's passphrase. Default: you are asked, twice.",
        )(command)  # fmt: skip

    return add


def _present(context: click.Context, parameter: click.Parameter, path: Path | None) -> Callable[[], str]:
    if path is None:
        return lambda: hidden.ask("Passphrase of the shop's key", twice=False)
    return lambda: _read(path)


def _new(context: click.Context, parameter: click.Parameter, path: Path | None) -> Callable[[], str]:
    if path is None:
        return lambda: hidden.ask("New passphrase", twice=True)
    return lambda: _read(path)


def _read(path: Path) -> str:
    from witnessmark.errors import InputError

    try:
        found = path.read_text(encoding="utf-8").rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"cannot be read: {error}", place=str(path), hint="give a file with the passphrase") from error
    if not found:
        raise InputError("it is empty", place=str(path), hint="put the passphrase on its first line")
    return found

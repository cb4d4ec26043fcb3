"""The PIN on the command line: asked without showing it, or read from a file."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from witnessmark.cli import hidden

Command = TypeVar("Command", bound=Callable[..., Any])


def pin_option(command: Command) -> Command:
    """Add `--pin-file FILE`; the command gets a function that gives the PIN as `pin`."""
    return click.option(
        "--pin-file",
        "pin",
        type=click.Path(dir_okay=False, path_type=Path),
        callback=_pin,
        help="A file with your PIN. Default: you are asked, where the shop has set PINs.",
    )(command)


def new_pin_option(command: Command) -> Command:
    """Add `--new-pin-file FILE`; the command gets a function that gives the new PIN, asked twice, as `new_pin`."""
    return click.option(
        "--new-pin-file",
        "new_pin",
        type=click.Path(dir_okay=False, path_type=Path),
        callback=_new_pin,
        help="A file with the new PIN. Default: you are asked, twice.",
    )(command)


def _new_pin(context: click.Context, parameter: click.Parameter, path: Path | None) -> Callable[[], str]:
    if path is None:
        return lambda: hidden.ask("New PIN (4 to 12 digits)", twice=True)
    return lambda: _read(path)


def _pin(context: click.Context, parameter: click.Parameter, path: Path | None) -> Callable[[], str]:
    if path is None:
        return lambda: hidden.ask(_whose(context), twice=False)
    return lambda: _read(path)


def _whose(context: click.Context) -> str:
    """Name the person whose PIN is asked for, so that nobody types the new one where their own is meant."""
    by = context.params.get("by") or os.environ.get("WITNESSMARK_PERSON", "")
    return f"PIN of {by}" if by else "PIN"


def _read(path: Path) -> str:
    from witnessmark.errors import InputError

    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"cannot be read: {error}", place=str(path), hint="give a file with the PIN in it") from error

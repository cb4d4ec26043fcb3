"""The PIN on the command line: asked without showing it, or read from a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

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
        return lambda: str(click.prompt("New PIN", hide_input=True, confirmation_prompt=True, err=True))
    return lambda: _read(path)


def _pin(context: click.Context, parameter: click.Parameter, path: Path | None) -> Callable[[], str]:
    if path is None:
        return lambda: str(click.prompt("PIN", hide_input=True, err=True))
    return lambda: _read(path)


def _read(path: Path) -> str:
    from witnessmark.errors import InputError

    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"cannot be read: {error}", place=str(path), hint="give a file with the PIN in it") from error

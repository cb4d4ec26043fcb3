"""Asking for what nobody should read over a shoulder: a PIN, a passphrase."""

from __future__ import annotations

import warnings
from getpass import GetPassWarning

import click


def ask(what: str, *, twice: bool) -> str:
    """Ask without showing what is typed. Where there is no terminal, say so and read it as it comes, from a pipe."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", GetPassWarning)
        try:
            return str(click.prompt(what, hide_input=True, confirmation_prompt=twice, err=True))
        except GetPassWarning:  # nothing was read yet
            click.echo(f"{what}: there is no terminal to ask at; it is read from standard input", err=True)
    return str(click.prompt(what, confirmation_prompt=twice, err=True))

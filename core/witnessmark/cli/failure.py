"""Turns an error into the text a user reads and an exit code."""

from __future__ import annotations

import os
import tempfile
import traceback

import click

from witnessmark.cli.plainly import plain
from witnessmark.errors import (
    InputError,
    JournalError,
    LinkError,
    LocalError,
    OutcomeUnknown,
    PeerError,
    WitnessmarkError,
)

REACHED = {
    "nothing": "nothing was sent to the vehicle",
    "maybe": "it may have reached the vehicle",
    "all": "it reached the vehicle",
}


def tell(error: Exception) -> int:
    """Print what went wrong, whether anything reached the vehicle, and what to do now. Return the exit code."""
    if isinstance(error, WitnessmarkError):
        click.echo(f"error: {plain(str(error))}", err=True)
        if isinstance(error, LinkError | PeerError | OutcomeUnknown):
            click.echo(f"       {REACHED[error.reached]}", err=True)
        click.echo(f"  do:  {plain(error.hint)}", err=True)
        return 3 if isinstance(error, JournalError) or not isinstance(error, LocalError | InputError) else 2
    place = _keep(error)
    click.echo(f"error: Witnessmark itself made a mistake ({type(error).__name__}: {plain(str(error))})", err=True)
    click.echo(f"  do:  look at the journal before going on; the details for a report are in {place}", err=True)
    return 70


def tell_usage(error: click.ClickException) -> int:
    """Print what is wrong with the words that were typed, how they go, and what to do now. Return the exit code."""
    context = error.ctx if isinstance(error, click.UsageError) else None
    if context is not None:
        click.echo(context.get_usage(), err=True)
    click.echo(f"error: {error.format_message()}", err=True)
    command = context.command_path if context is not None else "witnessmark"
    click.echo(f"  do:  read how it goes: {command} --help", err=True)
    return error.exit_code


def tell_unanswered() -> int:
    """Say that a question of ours got no answer. Return the exit code."""
    click.echo("error: ended without an answer: Ctrl-C was pressed, or the input is closed", err=True)
    click.echo("  do:  run it again at a terminal, or give the answer as an option (see --help)", err=True)
    return 130


def _keep(error: Exception) -> str:
    handle, path = tempfile.mkstemp(prefix="witnessmark-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write("".join(traceback.format_exception(error)))
    return path

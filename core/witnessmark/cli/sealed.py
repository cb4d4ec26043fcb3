"""Sealing a job as it is closed: the key is unlocked first, so that a wrong passphrase closes nothing.

A shop and the options flow in, a function flows out that signs the job's count and head once the act is recorded, and
prints the checkpoint, the count and the head. A journal without a key, or `--unsealed`, seals nothing and says so.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from witnessmark.cli.passphrase import passphrase_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

Command = TypeVar("Command", bound=Callable[..., Any])
Seal = Callable[[str, str], None]
"""Takes the job and why it is sealed."""


def sealing_options(command: Command) -> Command:
    """Add `--unsealed` and `--passphrase-file`; the command gets them as `unsealed` and `passphrase`."""
    unsealed = click.option("--unsealed", is_flag=True, help="Without the shop's signature, also when there is a key.")
    return unsealed(passphrase_option(command))


def sealer(shop: Shop, passphrase: Callable[[], str], unsealed: bool) -> Seal:
    """Return what seals a job. Raises as `keys.load` does when the key cannot be unlocked, JournalError for a journal
    that is not sound: the act is refused then, rather than done and left unsealed."""
    if unsealed or not shop.has_key():
        return lambda job, why: _tell_head(shop, job)
    from witnessmark.journal import keys, sealing
    from witnessmark.journal.checkpoint import parse_checkpoint

    with shop.read() as journal:
        signer = keys.load(journal, passphrase())
        sealing.check_sound(journal)

    def seal(job: str, why: str) -> None:
        with shop.write() as journal:
            made = sealing.seal_job(journal, signer, job, "machine:journal", sheet=False, why=why)
        click.echo(f"sealed in entry {made.entry.seq}; somebody outside the shop who holds this pins all of it:\n")
        click.echo(str(made.note))
        said = parse_checkpoint(made.note.text).job
        assert said is not None
        click.echo(f"{said.count} entries, head {said.head}")

    return seal


def _tell_head(shop: Shop, job: str) -> None:
    with shop.read() as journal:
        head = journal.job_head(job)
    click.echo(f"not sealed; {head.count} entries, head {head.head.hex()}: held elsewhere, it pins this job alone")

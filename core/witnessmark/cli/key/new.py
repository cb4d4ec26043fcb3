"""`witnessmark key new`: makes the shop's key, and shows what to post (lead)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.passphrase import new_passphrase_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("new")
@by_option
@pin_option
@new_passphrase_option("--passphrase-file")
@click.option(
    "--origin", default="", metavar="NAME", help="What to call a journal that is made now: bay1.depot.example."
)
@shop_option
def new(by: str, pin: Callable[[], str], new_passphrase: Callable[[], str], origin: str, shop: Shop) -> None:
    """Make the key that signs sheets and checkpoints (lead).

    Where the key's file is lost, make one that stands for itself.
    """
    from witnessmark.errors import InputError
    from witnessmark.host import acting
    from witnessmark.journal import keys

    actor = acting.lead(shop, by, "make the shop's key", pin).person.actor
    lost = False
    if shop.journal_path.exists():
        with shop.read() as journal:
            named = journal.genesis().body["origin"]
            if origin and origin != named:
                raise InputError(f"the journal is called {named} already", place="--origin", hint="leave --origin away")
            keys.check_new(journal)
            lost = keys.lost(journal)
    passphrase = new_passphrase()
    with shop.write(origin) as journal:
        entry = keys.create(journal, passphrase, actor)
        path = keys.path_of(journal.path)
    tell(str(entry.body["key"]), entry.seq)
    click.echo(f"The private key is in {path}, encrypted. Copy it to a safe place: no copy of the journal holds it.")
    if lost:
        click.echo(
            "The key before it is lost, so nothing vouches for this one: it stands for itself, and a paper signed"
        )
        click.echo(
            "before does not lead to it. Tell whoever holds a paper or the old line; both keys stay in the journal."
        )


def tell(key: str, seq: int) -> None:
    """Print a public key, and what to do with it."""
    click.echo(f"Entry {seq}: the shop's key. Post this line where customers can find it, and print it:\n")
    click.echo(f"  {key}\n")

"""`witnessmark key replace`: a new key, vouched for by the old one (lead)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.passphrase import new_passphrase_option, passphrase_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("replace")
@by_option
@pin_option
@passphrase_option
@new_passphrase_option("--new-passphrase-file")
@shop_option
def replace(
    by: str, pin: Callable[[], str], passphrase: Callable[[], str], new_passphrase: Callable[[], str], shop: Shop
) -> None:
    """Replace the key by a new one that the old one vouches for (lead)."""
    from witnessmark.cli.key.new import tell
    from witnessmark.host import acting
    from witnessmark.journal import keys

    lead = acting.lead(shop, by, "replace the shop's key", pin)
    with shop.write() as journal:
        old = keys.load(journal, passphrase())
        entry = keys.replace(journal, old, new_passphrase(), lead.person.actor)
    tell(str(entry.body["key"]), entry.seq)
    click.echo(f"Key {old.public.id.hex()} is gone. What it signed goes on verifying, because it vouches for this one.")

"""`witnessmark person sign-on` and `sign-off`: who is here, as entries of the journal."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from witnessmark.cli.options import shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

Command = TypeVar("Command", bound=Callable[..., Any])


def who_options(command: Command) -> Command:
    """Add `ID` and `--by ID`, which say the same; the command gets the id as `by`."""
    by = click.option("--by", metavar="ID", callback=_who, help="The same as ID. Default: $WITNESSMARK_PERSON.")
    return click.argument("id_", metavar="[ID]", default="", is_eager=True, required=False)(by(command))


def _who(context: click.Context, parameter: click.Parameter, by: str | None) -> str:
    named = {one for one in (context.params.get("id_"), by) if one}
    if len(named) > 1:
        raise click.UsageError("ID and --by name two people", context)
    found = named.pop() if named else os.environ.get("WITNESSMARK_PERSON", "")
    if not found:
        raise click.UsageError("who are you? Add your ID, or set WITNESSMARK_PERSON for this bay.", context)
    return found


@click.command("sign-on")
@who_options
@pin_option
@shop_option
def sign_on(id_: str, by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Say with your PIN that you are here, by your ID or --by."""
    from witnessmark.host import acting
    from witnessmark.people.person import Person

    del id_  # `by` is who it names
    who = acting.signed(shop, by, pin) if acting.register(shop) else acting.Acting(Person(by), "name only")
    with shop.write() as journal:
        entry = acting.sign_on(journal, who)
    if who.proven == "pin":
        click.echo(f"{by} is signed on as {who.person.role} in entry {entry.seq}")
        return
    click.echo(f"{by} is signed on in entry {entry.seq}, by name only: this shop has set no PINs, so nobody counts as")
    click.echo("its lead at the vehicle; set the lead's: `witnessmark person add ID --role lead`")


@click.command("sign-off")
@who_options
@shop_option
def sign_off(id_: str, by: str, shop: Shop) -> None:
    """Say that you leave, by your ID or --by, once you are signed on. Needs no PIN."""
    from witnessmark.host import acting
    from witnessmark.people.person import Person

    del id_  # `by` is who it names
    shop.need_journal()
    with shop.write() as journal:
        entry = acting.sign_off(journal, Person(by))
    click.echo(f"{by} is signed off in entry {entry.seq}")

"""`witnessmark person add`: adds a person. The first is the lead; after that only a lead adds."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import shop_option
from witnessmark.cli.pin import new_pin_option, pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("add")
@click.argument("id_", metavar="ID")
@click.option("--role", type=click.Choice(["technician", "lead"]), default="technician", show_default=True)
@click.option("--by", default="", metavar="ID", help="The lead who adds. Default: $WITNESSMARK_PERSON.")
@click.option("--anew", metavar="REASON", help="The people file is gone and cannot be put back: why. It is recorded.")
@pin_option
@new_pin_option
@shop_option
def add(
    id_: str, role: str, by: str, anew: str | None, pin: Callable[[], str], new_pin: Callable[[], str], shop: Shop
) -> None:
    """Add a person by ID (letters and digits, no name). The first of a shop is its lead."""
    from witnessmark.errors import InputError
    from witnessmark.host import acting
    from witnessmark.people.person import Person

    if anew is not None:
        if not anew.strip():
            raise InputError("no reason is given", place="--anew", hint="say what became of the file")
        made = acting.begin_anew(shop, Person(id_, "lead" if role == "lead" else "technician"), new_pin(), anew)
        click.echo(f"{id_} is the first lead of this shop's new people file; entry {made.seq} says so")
        return
    people = acting.register(shop)
    if people:
        by = by or os.environ.get("WITNESSMARK_PERSON", "")
        if not by:
            raise click.UsageError("only a lead adds people: say who you are with --by")
        acting.lead(shop, by, "add a person", pin)
        people = acting.register(shop)
    people.add(id_, "lead" if role == "lead" else "technician", new_pin())
    click.echo(f"{id_} is a {role} of this shop")

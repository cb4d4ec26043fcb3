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
    from witnessmark.people.person import Role


@click.command("add")
@click.argument("id_", metavar="ID")
@click.option("--role", type=click.Choice(["technician", "lead"]), default="technician", show_default=True)
@click.option("--by", default="", metavar="ID", help="The lead who adds. Default: $WITNESSMARK_PERSON.")
@click.option(
    "--anew",
    metavar="REASON",
    help="Begin the people file anew with this lead, and why: it is gone, damaged, or no lead's PIN is as recorded.",
)
@click.option(
    "--origin", default="", metavar="NAME", help="What to call a journal that is made now: bay1.depot.example."
)
@pin_option
@new_pin_option
@shop_option
def add(
    id_: str,
    role: Role,
    by: str,
    anew: str | None,
    origin: str,
    pin: Callable[[], str],
    new_pin: Callable[[], str],
    shop: Shop,
) -> None:
    """Add a person by ID (letters and digits, no name); the journal says who added whom.

    The first of a shop is its lead (--role lead), and only the new PIN is asked for, twice. From then on a lead adds:
    the lead's own PIN is asked for first, then the new person's, twice; with --role lead the new person may do what
    only a lead may.

    Where no lead knows their PIN any more, move people.json out of the shop's folder and begin it --anew; an entry
    says so.
    """
    from witnessmark.errors import InputError
    from witnessmark.host import acting, roster
    from witnessmark.people.person import Person

    person = Person(id_, role)
    if anew is not None:
        if not anew.strip():
            raise InputError("no reason is given", place="--anew", hint="say what became of the file")
        roster.check_anew(shop, person)
        made = roster.begin_anew(shop, person, new_pin(), anew.strip())
        click.echo(f"{id_} is the first lead of this shop's new people file; entry {made.seq} says so")
        click.echo("whoever else works here has to be added again")
        return
    by = by or os.environ.get("WITNESSMARK_PERSON", "")
    people = acting.register(shop)
    if people and not by:
        raise click.UsageError("only a lead adds people: say who you are with --by")
    people.check_new(id_, role)
    if origin and shop.journal_path.exists():
        raise InputError("there is a journal already", place="--origin", hint="leave --origin away")
    if people:
        who = acting.lead(shop, by, "add a person", pin)
    else:
        who = acting.Acting(Person(by or id_, "lead"), "name only")
    chosen = new_pin()
    entry = roster.change(shop, who.person, who.proven, "added", id_, lambda now: now.add(id_, role, chosen), origin)
    click.echo(f"{id_} is a {role} of this shop; entry {entry.seq} says so")

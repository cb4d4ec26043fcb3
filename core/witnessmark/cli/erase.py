"""`witnessmark erase JOB`: deletes a customer's data; every proof goes on holding (lead)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, say_clock, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("job")
@click.option("--why", required=True, help="Why, without names, for it stays: the customer asked, kept long enough.")
@click.option("--copy", "more", multiple=True, metavar="TEXT", help="Another copy you know of; may be repeated.")
@by_option
@pin_option
@shop_option
def erase(job: str, why: str, more: tuple[str, ...], by: str, pin: Callable[[], str], shop: Shop) -> None:
    """Delete a job's plate, customer, complaint and people's own words; proofs go on holding (lead).

    What goes: plate, customer, complaint, remarks, reasons in somebody's own words, why something was corrected, names
    and captions of files. What stays: the number of the vehicle and what the shop calls it, ids of people, times,
    readings, choices, reasons picked from a list, and what the machine saw; every answer of the audit rests on those.
    """
    from witnessmark.errors import InputError
    from witnessmark.host import acting, erasing
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.journal import personal

    if not why.strip():
        raise InputError("no reason is given", place="--why", hint="say why the data is deleted")
    shop.need_journal()
    lead = acting.lead(shop, by, "erase a customer's data", pin)
    shop, clock = on_its_clock(shop, job)
    with shop.write() as journal:
        journal.job_texts(job)
        if personal.finish_erasures(journal) and not erasing.to_erase(journal, job):
            click.echo("An erasure that was cut off before is finished now; its entry says what and why.")
            return
        copies = [*personal.known_copies(journal, job), *more]
        made = erasing.erase(journal, job, lead.person.actor, why, copies)
    click.echo(f"Erased in entry {made.seq}: {', '.join(made.body['fields'])} of job {job}.")
    say_clock(clock)
    click.echo(f"What stays: {erasing.STAYS}.")
    click.echo("Sheets and `job show` now say `erased`; entries, sheets' counts and heads, and proofs hold as before.")
    click.echo("What cannot be reached from here, and has to be dealt with by hand:")
    for one in copies:
        click.echo(f"  {one}")

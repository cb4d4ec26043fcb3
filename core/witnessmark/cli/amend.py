"""`witnessmark amend ENTRY`: says what is right instead; the entry itself stays as it was written."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, say_clock, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.argument("entry", type=click.IntRange(0))
@click.option("--reason", required=True, help="Why it is corrected.")
@click.option(
    "--set", "given", multiple=True, required=True, metavar="FIELD=VALUE", help="What is right; may be repeated."
)
@by_option
@shop_option
def amend(entry: int, reason: str, given: tuple[str, ...], by: str, shop: Shop) -> None:
    """Correct an entry; both stay visible.

    \b
    What is corrected of it, as FIELD=VALUE:
      a reading         amount.value, amount.unit, nipple, pass_id, instrument
      a choice, or what was read off a container
                        answer
      a look            answer=yes or answer=no
      words, a reason   said
      a nipple          nipple, pass_id
      codes read off another tester
                        codes
      a state           why
      the opening       vehicle.registration, customer and others
      a time keyed in   at=10:42

    Of a field that the entry does not have the error lists those it has. Never corrected: a release, and what the
    machine saw.
    """
    from witnessmark.host import amending
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.journal import personal
    from witnessmark.people.person import Person
    from witnessmark.report.kept import changes

    actor = Person(by).actor
    shop.need_journal()
    with shop.read() as journal:
        shop, clock = on_its_clock(shop, journal.entry(entry).job)
    with shop.write() as journal:
        made = amending.amend(journal, entry, actor, reason=reason, given=given)
        kept = personal.values_of(journal, made.job or "")
        doubt = amending.doubt(journal.entry(made.body["target"]), made.body["instead"])
    click.echo(f"Entry {made.seq} corrects entry {entry}: {changes(personal.shown(made.body, kept))}")
    if doubt:
        click.echo(f"! {doubt}. It is taken as it stands")
    say_clock(clock)
    if made.job and shop.is_worked_on(made.job):
        click.echo(f"job {made.job} runs on with entry {entry} as it was read: leave it (q) and go on with it anew")
    click.echo(f"Entry {entry} stays as it was written. Sheet and `job show` show both; where a question gets")
    click.echo("another answer by it, the audit says both, and answers `no proof` or `not met`, never `met`.")

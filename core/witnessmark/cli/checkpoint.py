"""`witnessmark checkpoint`: signs the journal as it stands, and prints the text to keep elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.passphrase import passphrase_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command()
@click.option("--job", default="", metavar="JOB", help="Also pin this job's count and head, as when it is closed.")
@click.option("--why", type=click.Choice(["on demand", "shop close", "job closed"]), default="on demand",
              show_default=True, help="What it is signed for.")  # fmt: skip
@by_option
@passphrase_option
@shop_option
def checkpoint(job: str, why: str, by: str, passphrase: Callable[[], str], shop: Shop) -> None:
    """Sign the journal as it stands; prints text to keep elsewhere."""
    from witnessmark.host import acting
    from witnessmark.journal import keys, sealing
    from witnessmark.people.person import Person

    people = acting.register(shop)
    actor = (people.person(by) if people else Person(by)).actor
    shop.need_key()
    with shop.write() as journal:
        if job:
            journal.job_texts(job)
        signer = keys.load(journal, passphrase())
        if job:
            made = sealing.seal_job(journal, signer, job, actor, sheet=False, why=why)
        else:
            made = sealing.seal(journal, signer, actor, why)
    click.echo(str(made.note), nl=False)
    click.echo(
        f"Entry {made.entry.seq} records it. Send the text above to somebody outside the shop: held there, it pins "
        "every entry before it.",
        err=True,
    )

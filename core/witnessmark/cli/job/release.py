"""`witnessmark job release JOB`: the gate; what is open keeps it shut and is listed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, say_clock, shop_option
from witnessmark.cli.pin import pin_option
from witnessmark.cli.sealed import sealer, sealing_options

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop


@click.command("release")
@click.argument("job")
@click.option("--accept", default="", metavar="N,N", help="Questions that stand open and are accepted, with --why.")
@click.option("--why", default="", help="Why.")
@by_option
@pin_option
@sealing_options
@shop_option
def release(
    job: str, accept: str, why: str, by: str, pin: Callable[[], str], unsealed: bool, passphrase: Callable[[], str],
    shop: Shop,
) -> None:  # fmt: skip
    """Release a finished job (lead, or whom the shop names). What is open keeps it shut.

    Where the shop has no people file a name is all there is: it is taken from nobody who did work in this bay, unless
    release.toml names them, and every paper says so. A job in which a correction opened something after its release
    is released anew.
    """
    from witnessmark.cli.plainly import plain
    from witnessmark.host import releasing
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.journal import personal
    from witnessmark.report.released import BY_NAME

    numbers = [part.strip() for part in accept.split(",") if part.strip()]
    if not all(part.isdecimal() for part in numbers):
        raise click.UsageError("--accept takes numbers of questions, like 21,28")
    who = releasing.releaser(shop, job, by, pin)
    shop, clock = on_its_clock(shop, job)
    what = releasing.ready(shop, job, accept=[int(part) for part in numbers], why=why)
    seal = sealer(shop, passphrase, unsealed)
    made = releasing.release(shop, who, what)
    click.echo(f"job {job} is released by {by}")
    if who.proven == "name only":
        click.echo(f"  by name only: {BY_NAME}; every paper says so")
        click.echo("  set the lead's PIN: witnessmark person add ID --role lead")
    say_clock(clock)
    with shop.read() as journal:
        accepted = personal.shown(made.body.get("accepted", ()), personal.values_of(journal, job))
    for line in accepted:
        click.echo(f"  accepted: {line}")
    for line in what.gate.left_out:
        click.echo(plain(f"  not asked: {line}"))
    seal(job, "job released")
    click.echo(f"go on with: witnessmark sheet {job}")

"""`witnessmark job close JOB` and `job abandon JOB`: end a job, finished or given up."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, say_clock, shop_option
from witnessmark.cli.sealed import sealer, sealing_options

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

UNFIT = "NOT RELEASED: DO NOT DRIVE"


@click.command("close")
@click.argument("job")
@by_option
@sealing_options
@shop_option
def close(job: str, by: str, unsealed: bool, passphrase: Callable[[], str], shop: Shop) -> None:
    """Finish a job whose steps are all done; what is open is listed."""
    from witnessmark.host import closing
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.people.person import Person

    shop, clock = on_its_clock(shop, job)
    say_clock(clock)
    seal = sealer(shop, passphrase, unsealed)
    closing.finish(shop, job, Person(by))
    seal(job, "job finished")
    for line in closing.left_standing(shop, job):
        click.echo(line)
    click.echo(f"job {job} is finished. {UNFIT} until a lead releases it:\nwitnessmark job release {job}")


@click.command("abandon")
@click.argument("job")
@click.option("--why", required=True, help="Why.")
@by_option
@sealing_options
@shop_option
def abandon(job: str, why: str, by: str, unsealed: bool, passphrase: Callable[[], str], shop: Shop) -> None:
    """Give a job up, with a reason. It is never released."""
    from witnessmark.host import closing
    from witnessmark.host.job_clock import on_its_clock
    from witnessmark.people.person import Person

    shop, clock = on_its_clock(shop, job)
    say_clock(clock)
    seal = sealer(shop, passphrase, unsealed)
    closing.abandon(shop, job, Person(by), why)
    seal(job, "job abandoned")
    for line in closing.left_standing(shop, job):
        click.echo(line)
    click.echo(f"job {job} is abandoned. {UNFIT}. Hang its tag on the key:\nwitnessmark tag {job}")

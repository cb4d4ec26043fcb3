"""`witnessmark job open`: records a job's documents, vehicle and plan."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop

FILE = click.Path(dir_okay=False, path_type=Path)
NO_MAP = (
    "no --map, which says at what address the control unit answers: nothing goes over --link, and what the machine "
    "would read (number, trouble codes) can only be left out, with a reason; open the job with a map, or --grade told"
)


@click.command("open")
@click.option("--procedure", "procedure_path", type=FILE, required=True, help="The procedure (TOML).")
@click.option("--map", "map_path", type=FILE, help="The protocol map (JSON). Needed to send anything.")
@click.option("--link", default="", metavar="ADDRESS", help="The interface; see `witnessmark adapters`.")
@click.option("--vehicle", required=True, metavar="ID", help="What the shop calls this vehicle. No plate, no name.")
@click.option("--vin", default="", help="Its VIN as typed from the plate.")
@click.option("--plate", default="", help="Its registration; kept beside the journal and can be erased.")
@click.option("--customer", default="", help="Whose it is; kept beside the journal and can be erased.")
@click.option(
    "--scope",
    default="full",
    show_default=True,
    help="`full`, `nipples ID,ID`, or `follows JOB`: what that job left open comes first.",
)
@click.option("--grade", type=click.Choice(["sent", "heard", "told"]), default="sent", show_default=True,
              help="sent: through the link. heard: another tester runs it, the link listens. told: another tester "
                   "runs it, you press started and ended.")  # fmt: skip
@click.option("--complaint", default="", help="What the customer says; kept beside the journal too.")
@by_option
@shop_option
def open_(
    procedure_path: Path, map_path: Path | None, link: str, vehicle: str, vin: str, plate: str,
    customer: str, scope: str, grade: str, complaint: str, by: str, shop: Shop,
) -> None:  # fmt: skip
    """Open a job on one vehicle, with its procedure and map."""
    from dataclasses import replace

    from witnessmark.cli.plainly import plain
    from witnessmark.host import comeback, instruments, other_jobs
    from witnessmark.host.opening import open_job
    from witnessmark.host.speaking import clock_of
    from witnessmark.journal.bodies import GRADES
    from witnessmark.mapping import load as maps
    from witnessmark.people.person import Person
    from witnessmark.procedure import load as procedures
    from witnessmark.procedure.plan import asks_a_vehicle, followed

    check_scope(scope)
    person = Person(by)
    procedure = procedures.load(procedure_path)
    map_ = maps.load(map_path) if map_path else None
    if not link and grade == "sent" and not asks_a_vehicle(procedure):
        grade = "told"  # nothing is sent or read: there is no run to witness
    if grade != "told" and not link:
        raise click.UsageError("say which interface to use with --link, or open the job with --grade told")
    if link:
        shop = replace(shop, clock=clock_of(link))
    asked = _vehicle(vehicle, vin)
    scope, earlier = comeback.follow(shop, scope) if scope.startswith("follows") else (scope, ())
    with shop.write() as journal:
        if (before := followed(scope)) and (told := comeback.same_vehicle(journal, before, asked, plate)):
            click.echo(plain(told), err=True)
        for line in other_jobs.warnings(journal, asked.get("vin", ""), plate, vehicle):
            click.echo(line, err=True)
        job = open_job(
            journal, procedure, map_, by=person, link=link, vehicle=asked, scope=scope,
            grade=next(one for one in GRADES if one == grade), complaint=complaint, plate=plate,
            customer=customer, instruments=instruments.read(shop.folder), earlier=earlier,
            now_ns=shop.clock.stamp().wall_ns,
        )  # fmt: skip
    click.echo(f"job {job} is open: {procedure.title}")
    if link and map_ is None and grade != "told":
        click.echo(f"note: {NO_MAP}", err=True)
    if procedure.invented:
        click.echo("this procedure is invented, for practice only")
    click.echo(f"go on with: witnessmark job run {job} --by {by}")


def check_scope(scope: str) -> None:
    """Raise InputError for a scope that cannot be read; whether its names are there, the procedure says later."""
    from witnessmark.procedure.plan import parse_scope

    if not scope.startswith("follows"):
        parse_scope(scope)


def _vehicle(name: str, vin: str) -> dict[str, str]:
    """Return the vehicle as it is recorded. A VIN of the wrong form is refused; a digit that does not fit is told."""
    if not vin:
        click.echo("note: no --vin: nothing shows that it was the right vehicle, and its audit will say so", err=True)
        return {"id": name}
    from witnessmark.wire import vin as vins

    checked = vins.check(vin)
    if checked.warning:
        click.echo(f"note: {checked.warning}", err=True)
    return {"id": name, "vin": checked.vin}

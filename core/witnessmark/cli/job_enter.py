"""`witnessmark job enter JOB`: key in what was written on a card; every entry says it was typed afterwards."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.job.steps import Point


@click.command("enter")
@click.argument("job")
@click.option("--on", "day", type=click.DateTime(["%Y-%m-%d"]), help="The day on the card. Default: today.")
@click.option("--done-by", default="", metavar="ID", help="Who did the work, when it was not you.")
@by_option
@shop_option
def enter(job: str, day: datetime | None, done_by: str, by: str, shop: Shop) -> None:
    """Key in a card afterwards, from where the job stands. An empty line ends; each entry says it was typed."""
    from witnessmark.clock import NS
    from witnessmark.errors import InputError
    from witnessmark.host import entering
    from witnessmark.host.history import history
    from witnessmark.job.fold import fold
    from witnessmark.journal import moving
    from witnessmark.people.person import Person

    worked, types = Person(done_by or by), Person(by)
    today = datetime.fromtimestamp(shop.clock.stamp().wall_ns // NS)
    when = entering.Day((day or today).date())
    with shop.quiet("job enter") as journal:
        moving.check_here(journal, job)
        state = fold(history(journal, job))
        while state.point is not None and state.status in ("open", "paused"):
            before = state.cursor, state.points
            line = click.prompt(_ask(state.point), default="", show_default=False, err=True)
            if not line.strip():
                break
            try:
                entering.enter(journal, state, line, when, worked, types)
            except InputError as error:
                click.echo(f"{error}\n  do: {error.hint}", err=True)
                continue
            state = fold(history(journal, job))
            if (state.cursor, state.points) == before:
                click.echo("recorded; this point stays open and keeps the job from being finished", err=True)
                break
    click.echo(f"job {job}: {state.cursor} of {len(state.points)} steps, entered afterwards by {by}")


def _ask(point: Point) -> str:
    from witnessmark.host.entering import FORMS

    text = point.step.text if point.step else {"open": "Opened", "close": "Closed", "run": "Ran"}[point.kind]
    where = " ".join(part for part in (point.pass_id, point.nipple) if part)
    return f"{where + ': ' if where else ''}{text}\n  [{FORMS[point.kind]}]"

"""`witnessmark procedure show FILE`: the walk of a job as the bay will show it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from witnessmark.procedure.model import Pass, Procedure, Pump


@click.command("show")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--scope", default="full", show_default=True, help="`full`, or `nipples ID,ID`.")
def show(file: Path, scope: str) -> None:
    """Show a procedure: what it rests on, then every point of the job in order."""
    from witnessmark.job.steps import walk
    from witnessmark.procedure import load as procedures
    from witnessmark.procedure.plan import parse_scope, plan
    from witnessmark.procedure.repeated import KEYS, repeated

    read = procedures.load(file)
    _head(read)
    keys = dict(zip((step.id for step in repeated(read)), KEYS, strict=False))
    names = {one.id: one.name for one in read.nipples}
    for number, point in enumerate(walk(read, plan(read, parse_scope(scope))), 1):
        where = " ".join(part for part in (point.pass_id, names.get(point.nipple, point.nipple)) if part)
        text = point.step.text if point.step else f"{point.kind}"
        if point.kind == "run":
            one = next(one for one in read.passes if one.id == point.pass_id)
            text = f"run {one.wire_command} for {one.seconds}{_opening_in(one, names)}"
        caution = f"  ! {point.step.caution}" if point.step and point.step.caution else ""
        again = f"  [{keys[point.step.id]}] again later" if point.step and point.step.id in keys else ""
        click.echo(f"{number:>3}  {where:<24} {text}{again}{caution}")


def _opening_in(one: Pass, names: dict[str, str]) -> str:
    """Say which nipples are opened in a run that is begun with them shut; they have no point of their own."""
    if one.order not in ("with", "after"):
        return ""
    when = "on the cue, as it starts" if one.order == "with" else "after its start"
    return f"; open {', '.join(names[name] for name in one.nipples)} {when}"


def _head(read: Procedure) -> None:
    click.echo(f"{read.title} ({read.id})")
    click.echo(f"vehicle: {read.vehicle}")
    click.echo(f"source: {read.source}{' (INVENTED: never on a real vehicle)' if read.invented else ''}")
    if read.fluid:
        click.echo(f"fluid: {read.fluid}{', ' + read.fluid_class if read.fluid_class else ''}")
    for caution in read.cautions:
        click.echo(f"CAUTION: {caution}")
    if read.wake and read.wake.how:
        click.echo(f"wake: {read.wake.how} It energises: {read.wake.energises}.")
    if read.pump and (limits := _pump(read.pump)):
        click.echo(f"pump: {limits}")
    if read.physical_fallback:
        click.echo(f"by hand: {read.physical_fallback}")


def _pump(pump: Pump) -> str:
    """Say the limits on running the pump, and which wire commands they hold for."""
    said = {
        f"a run of at most {pump.longest_run}": pump.longest_run,
        f"{pump.rest} of rest after each": pump.rest,
        f"at most {pump.on_time} within {pump.window}": pump.on_time,
    }
    limits = ", ".join(words for words, given in said.items() if given)
    holds = f"for {', '.join(pump.wire_commands)}" if pump.wire_commands else "for every wire command"
    return f"{limits}; {holds}" if limits else ""

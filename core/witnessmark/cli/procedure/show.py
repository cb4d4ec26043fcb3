"""`witnessmark procedure show FILE`: the walk of a job as the bay will show it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from witnessmark.job.walk.steps import Point
    from witnessmark.procedure.model import Pass, Procedure, Pump

FIGURES = {
    "container_age": "a container may have been open for",
    "reservoir": "the reservoir holds",
    "balance_tolerance": "volumes may disagree by",
    "pressure_fall": "between two readings the feed may lose",
    "pressure_limit": "the feed keeps",
    "voltage": "the supply keeps, while anything runs",
    "voltage_gap": "its samples are apart by at most",
    "manual_uncertainty": "a time by hand is known to",
    "armed_for": "what was armed starts within",
}


@click.command("show")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--scope", default="full", show_default=True, help="`full`, or `nipples ID,ID`.")
def show(file: Path, scope: str) -> None:
    """Show a procedure: what it rests on, then every point of the job in order."""
    from witnessmark.job.walk.steps import walk
    from witnessmark.procedure import load as procedures
    from witnessmark.procedure.plan import parse_scope, plan
    from witnessmark.procedure.repeated import KEYS, repeated
    from witnessmark.procedure.steps import in_words

    read = procedures.load(file)
    _head(read)
    keys = dict(zip((step.id for step in repeated(read)), KEYS, strict=False))
    names = {one.id: one.name for one in read.nipples}
    for number, point in enumerate(walk(read, plan(read, parse_scope(scope))), 1):
        where = " ".join(part for part in (point.pass_id, names.get(point.nipple, point.nipple)) if part)
        text = (in_words(point.step) if point.step else f"{point.kind}") + _held_to(point)
        if point.kind == "run":
            one = next(one for one in read.passes if one.id == point.pass_id)
            text = f"run {one.wire_command} for {one.seconds}{_bounds(one)}{_opening_in(one, names)}"
        caution = f"  ! {point.step.caution}" if point.step and point.step.caution else ""
        again = f"  [{keys[point.step.id]}] again later" if point.step and point.step.id in keys else ""
        click.echo(f"{number:>3}  {where:<24} {text}{again}{caution}")


def _held_to(point: Point) -> str:
    """Say in what band a reading is to be, with what it is read, and that another person is asked."""
    from witnessmark.audit.limits import spell

    step = point.step
    said = [f"asked {spell(point.limit)}" if point.limit and (point.limit.low or point.limit.high) else ""]
    said += (
        [f"with {step.instrument}" if step.instrument else "", "by the second person" if step.person else ""]
        if step
        else []
    )
    given = ", ".join(part for part in said if part)
    return f" ({given})" if given else ""


def _bounds(one: Pass) -> str:
    """Say how far from its length a run may end, and what share of it the nipple is open."""
    share = f", its nipple open for {one.overlap} of it at least" if one.overlap else ""
    age = f", the pressure read within {one.pressure_age} before" if one.pressure and one.pressure_age else ""
    return f" within {one.seconds_tolerance}{share}{age}{', two people' if one.two_people else ''}"


def _opening_in(one: Pass, names: dict[str, str]) -> str:
    """Say which nipples are opened in a run that is begun with them shut; they have no point of their own."""
    if one.order not in ("with", "after"):
        return ""
    when = "on the cue, as it starts" if one.order == "with" else "after its start"
    return f"; open {', '.join(names[name] for name in one.nipples)} {when}"


def _head(read: Procedure) -> None:
    from witnessmark.audit.limits import spell

    click.echo(f"{read.title} ({read.id})")
    click.echo(f"vehicle: {read.vehicle}")
    click.echo(f"source: {read.source}{' (INVENTED: never on a real vehicle)' if read.invented else ''}")
    if read.fluid:
        click.echo(f"fluid: {read.fluid}{', ' + read.fluid_class if read.fluid_class else ''}")
    for key, words in FIGURES.items():
        if given := getattr(read, key):
            click.echo(f"{words}: {given if isinstance(given, str) else spell(given)}")
    for one in read.preconditions:
        click.echo(f"before a run: {one.text} ({one.name}: {one.equals or (spell(one.limit) if one.limit else 'yes')})")
    for asked in read.questions:
        click.echo(f"asked before a run: {asked.text}{f' (holds {asked.holds})' if asked.holds else ''}")
    for left in read.leaves_out:
        click.echo(f"leaves out question {left.question}: {left.why}")
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

"""`witnessmark practice start FOLDER`: run a practice truck in the foreground until Ctrl-C or SIGTERM."""

from __future__ import annotations

import contextlib
import sys
from pathlib import Path
from typing import NoReturn

import click

from witnessmark.errors import WitnessmarkError
from witnessmark_practice.faults import Fault, parse_fault
from witnessmark_practice.vehicle import Truck
from witnessmark_practice.workshop import Workshop

COMMAND = "witnessmark practice start"


def _faults(context: click.Context, parameter: click.Parameter, texts: tuple[str, ...]) -> list[Fault]:
    try:
        return [parse_fault(text) for text in texts]
    except WitnessmarkError as error:
        raise click.BadParameter(f"{error.what}; {error.hint}") from error


@click.command()
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--rate", type=click.IntRange(1, 8), default=1, show_default=True, help="Clock seconds in a real second.")
@click.option("--fault", "faults", multiple=True, callback=_faults, help="NAME, NAME@RUN or NAME@RUN+SECONDS.")
@click.option("--trace", type=click.File("w", encoding="ascii"), help="Write every frame on the bus, as candump text.")
@click.option("--seed", type=int, default=14, show_default=True, help="Seed of the ordinary bus traffic.")
@click.option("--traffic/--no-traffic", default=True, show_default=True, help="Ordinary frames on the bus.")
@click.option("--29bit", "wide", is_flag=True, help="Identifiers of 29 bits: 18DA28F1 in place of 6B3.")
@click.option("--engine", is_flag=True, help="Also an engine control unit that knows OBD, at 7E0 or 18DA10F1.")
@click.option("--with-parent", is_flag=True, help="End when standard input ends: when whoever started it is gone.")
@click.option("--tcp", is_flag=True, help="A loopback TCP port in place of a pseudo-terminal.")
@click.pass_context
def main(
    context: click.Context, folder: Path, rate: int, faults: list[Fault], trace: object, seed: int, traffic: bool,
    wide: bool, engine: bool, with_parent: bool, tcp: bool,
) -> None:  # fmt: skip
    """Run an invented light truck in FOLDER: its adapter at FOLDER/port, its hands, and FOLDER/truck.json."""
    truck = Truck(seed, rate, wide=wide, with_engine=engine)
    truck.traffic.on = traffic
    try:
        workshop = Workshop(folder, truck, tcp=tcp)
    except WitnessmarkError as error:
        _refuse(context, error)
    if trace is not None:
        workshop.trace_to(trace)  # type: ignore[arg-type]
    workshop.plan_faults(faults)
    with contextlib.suppress(BrokenPipeError):
        click.echo(f"practice truck at {rate}x in {folder}; address practice:{folder}")
        sys.stdout.flush()
    try:
        workshop.run(sys.stdin.fileno() if with_parent else None)
    except WitnessmarkError as error:
        _refuse(context, error)


def _refuse(context: click.Context, error: WitnessmarkError) -> NoReturn:
    """Say what is wrong and what to do now, and exit."""
    click.echo(f"error: {error}", err=True)
    click.echo(f"  do:  {error.hint}", err=True)
    context.exit(2)


def run() -> None:
    """Run it as a user's command, and exit: what was typed wrong leads on, as in every other command."""
    try:
        code = main(prog_name=COMMAND, standalone_mode=False)
    except click.exceptions.Abort:
        code = 130
    except click.ClickException as error:
        if isinstance(error, click.UsageError) and error.ctx is not None:
            click.echo(error.ctx.get_usage(), err=True)
        click.echo(f"error: {error.format_message()}", err=True)
        click.echo(f"  do:  read how it goes: {COMMAND} --help", err=True)
        code = error.exit_code
    sys.exit(code if isinstance(code, int) else 0)


if __name__ == "__main__":
    run()

"""`witnessmark protocol name`: a candidate heard from another tester becomes a wire command with a name."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import write_file

if TYPE_CHECKING:
    from witnessmark.mapping.model import ProtocolMap

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("name")
@click.argument("map_path", metavar="MAP", type=FILE)
@click.argument("candidate")
@click.argument("id_", metavar="NAME")
@click.option("--words", required=True, help="What it does, for people.")
@click.option(
    "--unit", default="", metavar="HEX", help="The control unit that answers there; needed where several have it."
)
@click.option("--longest", type=int, metavar="S", help="Longest run; never longer than the longest that was seen.")
@click.option("--cool-down", type=int, metavar="S", help="Rest after a run; never shorter than what was seen.")
@click.option("--on-stop", default="not known", help="What the unit does when it is stopped.")
@click.option("--on-lost-session", default="not known", help="What it does when the session is lost.")
@click.option("--on-lost-supply", default="not known", help="What it does when the supply is lost.")
@click.option("-o", "--output", required=True, type=FILE,
              help="The map of that unit alone, with the wire command; one that is there gets it too.")  # fmt: skip
@click.option("--force", is_flag=True, help="Write over what is there, and what people named in it.")
def name(
    map_path: Path, candidate: str, id_: str, words: str, unit: str, longest: int | None, cool_down: int | None,
    on_stop: str, on_lost_session: str, on_lost_supply: str, output: Path, force: bool,
) -> None:  # fmt: skip
    """Name CANDIDATE (like 31-7310) of MAP. It may be sent once a lead approves it, and not before.

    Name several one after the other into one file: a map of the same control unit that is there already is added to.
    """
    from witnessmark.mapping import candidate as candidates
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.never_sent import reasons

    one = candidates.unit_of(maps.load_vehicle(map_path), candidate, unit)
    named = candidates.name(
        one, candidate, id_, words, longest_s=longest, cool_down_s=cool_down, on_stop=on_stop,
        on_lost_session=on_lost_session, on_lost_supply=on_lost_supply,
    )  # fmt: skip
    command = named.wire_commands[-1]
    kept = None if force or not output.exists() else _kept(output)
    if kept is not None:
        named = candidates.add(kept, named)
    write_file(output, maps.to_text(named).encode())
    click.echo(f"{command.id}: {command.start}, stop {command.stop}, at most {command.longest_s} s, "
               f"then {command.cool_down_s} s rest")  # fmt: skip
    for reason in reasons(command, named.address):
        click.echo(f"never sent: {reason.why}")
    if kept is None:
        click.echo(f"written to {output}")
    else:
        known = ", ".join(one.id for one in named.wire_commands)
        click.echo(f"added to {output}, which has now: {known}\nwhat was approved of it needs its approval again")


def _kept(path: Path) -> ProtocolMap:
    """Read the map to add to. Raises InputError for anything else: nothing is written over unasked."""
    from witnessmark.errors import InputError
    from witnessmark.mapping import load as maps

    try:
        return maps.load(path)
    except InputError as error:
        raise InputError(
            f"is there already and is no map of one control unit ({error.what})",
            place=str(path),
            hint="choose another --output, or write over it with --force",
        ) from error

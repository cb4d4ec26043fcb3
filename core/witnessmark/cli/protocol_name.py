"""`witnessmark protocol name`: a candidate heard from another tester becomes a wire command with a name."""

from __future__ import annotations

from pathlib import Path

import click

from witnessmark.cli.options import write_file

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("name")
@click.argument("map_path", metavar="MAP", type=FILE)
@click.argument("candidate")
@click.argument("id_", metavar="NAME")
@click.option("--words", required=True, help="What it does, for people.")
@click.option("--unit", default="", metavar="HEX", help="The control unit that answers there.")
@click.option("--longest", type=int, metavar="S", help="Longest run; never longer than the longest that was seen.")
@click.option("--cool-down", type=int, metavar="S", help="Rest after a run; never shorter than what was seen.")
@click.option("--on-stop", default="not known", help="What the unit does when it is stopped.")
@click.option("--on-lost-session", default="not known", help="What it does when the session is lost.")
@click.option("--on-lost-supply", default="not known", help="What it does when the supply is lost.")
@click.option("-o", "--output", required=True, type=FILE, help="The map of that unit alone, with the wire command.")
def name(
    map_path: Path, candidate: str, id_: str, words: str, unit: str, longest: int | None, cool_down: int | None,
    on_stop: str, on_lost_session: str, on_lost_supply: str, output: Path,
) -> None:  # fmt: skip
    """Name CANDIDATE (like 31-7310) of MAP. It may be sent once a lead approves it, and not before."""
    from witnessmark.mapping import candidate as candidates
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.never_sent import reasons

    one = maps.pick(maps.load_vehicle(map_path), unit)
    named = candidates.name(
        one, candidate, id_, words, longest_s=longest, cool_down_s=cool_down, on_stop=on_stop,
        on_lost_session=on_lost_session, on_lost_supply=on_lost_supply,
    )  # fmt: skip
    write_file(output, maps.to_text(named).encode())
    command = named.wire_commands[-1]
    click.echo(f"{command.id}: {command.start}, stop {command.stop}, at most {command.longest_s} s, "
               f"then {command.cool_down_s} s rest")  # fmt: skip
    for reason in reasons(command, named.address):
        click.echo(f"never sent: {reason.why}")
    click.echo(f"written to {output}")

"""`witnessmark protocol approve`: a lead allows a map's wire commands for one control unit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.options import by_option, shop_option
from witnessmark.cli.pin import pin_option

if TYPE_CHECKING:
    from witnessmark.host.shop import Shop
    from witnessmark.journal.entry import Entry
    from witnessmark.mapping.model import ProtocolMap
    from witnessmark.procedure.model import Procedure

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("approve")
@click.argument("map_path", metavar="MAP", type=FILE)
@click.option("--procedure", "procedure_path", type=FILE, help="Only what this procedure's passes need, for it alone.")
@click.option("--command", "commands", multiple=True, metavar="ID", help="Only this wire command; may be repeated.")
@click.option("--link", default="", metavar="ADDRESS", help="Read the control unit first and refuse another one.")
@click.option("--software", multiple=True, metavar="ID=NUMBER", help="What it says since an update, like F195=03.21.0.")
@click.option("--why", default="", help="What the approval rests on, without names.")
@by_option
@pin_option
@shop_option
def approve(
    map_path: Path, procedure_path: Path | None, commands: tuple[str, ...], link: str,
    software: tuple[str, ...], why: str, by: str, pin: Callable[[], str], shop: Shop,
) -> None:  # fmt: skip
    """Allow a map's wire commands for the control unit it identifies. Only a lead may, with a PIN.

    For practice data a lead of a shop that has set no PINs is taken at their word: it is sent to a practice vehicle
    alone.
    """
    from witnessmark.cli.plainly import plain
    from witnessmark.host import acting, approving
    from witnessmark.host.speaking import conversation
    from witnessmark.job.allowed import strictest
    from witnessmark.mapping import load as maps
    from witnessmark.procedure import load as procedures

    map_ = maps.load(map_path)
    procedure = procedures.load(procedure_path) if procedure_path else None
    lead = acting.lead(shop, by, "approve a wire command", pin)
    draft = approving.prepare(lead, map_, procedure=procedure, wire_commands=commands, software=software, why=why)
    if link:
        approving.check_link(lead, link)
        with conversation(link) as talk:
            approving.check_unit(talk, map_, draft.body["identification"])
        click.echo(f"the control unit identifies itself as {'it is approved' if software else 'the map says'}")
    with shop.write() as journal:
        there = list(journal.entries(kind="approval"))
        strictest.require_as_strict(there, map_, draft.body["wire_commands"])
        entry = journal.append(draft)
    for line in (*_lines(entry, map_, procedure), *strictest.looser(there, map_, entry.body["wire_commands"])):
        click.echo(plain(line))
    if lead.proven != "pin":
        click.echo(
            "note: this shop has set no PINs, so your id was taken at its word: for practice data, on a practice "
            "vehicle alone",
            err=True,
        )


def _lines(entry: Entry, map_: ProtocolMap, procedure: Procedure | None) -> Iterator[str]:
    from witnessmark.job.allowed.approval import SOFTWARE
    from witnessmark.mapping import words

    yield f"approved in entry {entry.seq} for {words.unit(map_)}{', invented for practice' if map_.invented else ''}:"
    for name in entry.body["wire_commands"]:
        one = next(one for one in map_.wire_commands if one.id == name)
        yield f"  {name}: {one.words}; at most {one.longest_s} s a run, then {one.cool_down_s} s of rest"
        if procedure is not None:
            yield f"    for {_passes(procedure, name) or 'no pass'}"
    if procedure is None:
        yield "whatever the procedure; --procedure FILE approves for one alone"
    else:
        yield f"only in jobs of this procedure: {procedure.title}"
    yield "and only while the control unit says:"
    for identifier, value in entry.body["identification"].items():
        yield f"  {identifier} {_identified(identifier, value)}{_instead(map_, identifier, value)}"
    yield from _over(entry, map_, procedure)
    if not SOFTWARE & entry.body["identification"].keys():
        yield "none of these tells its software: an update would not end this approval, so withdraw it after one"


def _instead(map_: ProtocolMap, identifier: str, value: str) -> str:
    """Say that this is not what the map says."""
    said = _of_map(map_)[identifier]
    if said.upper() == value.upper():
        return ""
    from witnessmark.mapping import words

    return f", not {words.spelled(said)} as the map says"


def _over(entry: Entry, map_: ProtocolMap, procedure: Procedure | None) -> Iterator[str]:
    """Say which approvals of before are over, where this one is for other software than the map says."""
    bound = entry.body["identification"]
    if all(bound[name].upper() == value.upper() for name, value in _of_map(map_).items()):
        return
    named, known = entry.body["wire_commands"], [one.id for one in map_.wire_commands]
    whole = set(named) == set(known)
    what = "this map is" if whole else f"{' and '.join(named)} of this map {'is' if len(named) == 1 else 'are'}"
    where = "" if procedure is None else " in jobs of this procedure"
    rest = "" if whole and procedure is None else "; what else was approved of it stays as it was"
    yield f"from now on {what} approved for no other{where}{rest}"


def _of_map(map_: ProtocolMap) -> dict[str, str]:
    return {one.identifier: one.value for one in map_.identification}


def _passes(procedure: Procedure, wire_command: str) -> str:
    names = {one.id: one.name for one in procedure.nipples}
    return "; ".join(
        f"pass {one.id} ({', '.join(names.get(nipple, nipple) for nipple in one.nipples)}, {one.seconds})"
        for one in procedure.passes
        if one.wire_command == wire_command
    )


def _identified(identifier: str, value: str) -> str:
    """Name an identifier as the standard does, its value as text where it is printable, and in hex."""
    from witnessmark.mapping import words
    from witnessmark.wire.identifiers import identifier_name

    return f"{identifier_name(int(identifier, 16))}: {words.spelled(value)}"

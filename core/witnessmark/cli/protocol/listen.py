"""`witnessmark protocol listen`: learns from what another tester says, live or recorded. Sends nothing."""

from __future__ import annotations

import os
import select
import shutil
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.decode.sums import counted
from witnessmark.cli.options import keep_map, write_file
from witnessmark.cli.stopping import stoppable

if TYPE_CHECKING:
    from witnessmark.mapping.learn import Broken
    from witnessmark.mapping.model import VehicleMap
    from witnessmark.recording.file import Recording

FIRST = 3
"""So many moments and identifiers are named."""
FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("listen")
@click.argument("recording_path", metavar="[RECORDING]", type=FILE, required=False)
@click.option("--link", default="", metavar="ADDRESS", help="Listen live, until Ctrl-C, on a link that cannot send.")
@click.option("--seconds", type=click.IntRange(min=1), help="Listen for so long instead of until Ctrl-C.")
@click.option(
    "-o", "--output", required=True, type=FILE, help="The map to write. Live, the recording stands beside it."
)
@click.option("--force", is_flag=True, help="Write over a map that is there, and what people named in it.")
@click.option("--id", "id_", default="vehicle", show_default=True, help="What the shop calls this vehicle. No plate.")
@click.option("--title", default="", help="What it is, in words.")
def listen(
    recording_path: Path | None, link: str, seconds: int | None, output: Path, force: bool, id_: str, title: str
) -> None:
    """Learn from what another tester says, out of a RECORDING or live.

    Live, type what happens ("pump rear starts") and Enter: it is put to the wire command that was asked for nearest
    to it, whether that ran or was refused. To practise, let `practice hand FOLDER elsewhere pump-rear "10 s"` be the
    other tester.

    Exit codes: 0 learned; 1 learned, and the recording is damaged or the link was lost; 2 nothing could be read.
    """
    from witnessmark.host import learning
    from witnessmark.host.extending.decoders import Decoders
    from witnessmark.mapping import load as maps
    from witnessmark.mapping.remarks import put
    from witnessmark.recording.file import open_recording

    _one_source(recording_path, link, seconds)
    beside = output.with_name(output.name + ".log")
    keep_map((output,) if recording_path is not None else (output, beside), force)
    remarks: list[tuple[int, str]] = []
    lost = ""
    if recording_path is not None:
        recording = open_recording(recording_path)
    else:
        recording, lost = _live(link, beside, seconds, remarks)
    decoders = Decoders()
    learner = learning.learn_recording(recording, decoders.name)
    vehicle = learner.vehicle(id_, title or id_, invented=link.startswith("practice:"))
    vehicle, places = put(vehicle, remarks)
    write_file(output, maps.to_text(vehicle).encode())
    _tell(vehicle, recording, output)
    _tell_broken(learner.broken)
    for (_, text), place in zip(remarks, places, strict=True):
        where = f"said of {place}" if place else "said of nothing: no wire command was asked for within 30 s of it"
        click.echo(f"{text!r} is {where}")
    for problem in decoders.problems:
        click.echo(f"decoder left out: {problem}", err=True)
    if recording.damaged or (lost and not link.startswith("replay:")):
        raise click.exceptions.Exit(1)


def _one_source(recording: Path | None, link: str, seconds: int | None) -> None:
    """Raise UsageError unless it is clear what to listen to."""
    if recording is None and not link:
        raise click.UsageError("nothing to listen to: give a RECORDING, or --link to listen live")
    if recording is not None and link:
        raise click.UsageError("a RECORDING and --link at once: leave one out, each gives a map of its own")
    if recording is not None and seconds is not None:
        raise click.UsageError("--seconds is how long to listen live: a RECORDING is read to its end")


def _live(link: str, path: Path, seconds: int | None, remarks: list[tuple[int, str]]) -> tuple[Recording, str]:
    from witnessmark.clock import NS
    from witnessmark.host import learning

    begun_ns, now_ns, count = 0, 0, 0
    ended: list[str] = []

    def heard(frames: int, wall_ns: int) -> None:
        nonlocal begun_ns, now_ns, count
        begun_ns, now_ns, count = begun_ns or wall_ns, wall_ns, frames

    with stoppable() as stop, _typing(remarks) as look:

        def over() -> bool:
            if begun_ns:
                look(f"{count} frames, {(now_ns - begun_ns) // NS} s", now_ns)
            return stop() or (seconds is not None and now_ns - begun_ns >= seconds * NS)

        recording = learning.record(link, path, heard=heard, lost=ended.append, stop=over)
    click.echo(f"\nthe recording is {path}", err=True)
    for why in ended:
        click.echo(f"the link ended: {why}; what was heard until then is learned from", err=True)
    return recording, "".join(ended)


@contextmanager
def _typing(remarks: list[tuple[int, str]]) -> Iterator[Callable[[str, int], None]]:
    """Give what draws the count and takes what is typed beside it; nothing of both where there is no terminal."""
    if not os.isatty(0):
        yield lambda count, now_ns: None
        return
    from witnessmark.cli.bay.keyboard import Keyboard
    from witnessmark.cli.typed_line import CLEAR, TypedLine
    from witnessmark.clock import NS

    line, drawn = TypedLine(), ""

    def look(count: str, now_ns: int) -> None:
        nonlocal drawn
        if not keyboard.gone and select.select([keyboard], [], [], 0)[0]:
            for text in line.press(keyboard.read()):
                remarks.append((now_ns, text))
                at = datetime.fromtimestamp(now_ns / NS).strftime("%H:%M:%S")
                click.echo(f"{CLEAR}noted at {at}: {text}", err=True)
        picture = line.draw(count, shutil.get_terminal_size().columns)
        if picture != drawn:
            drawn = picture
            click.echo(picture, err=True, nl=False)

    with Keyboard() as keyboard:
        click.echo("listening: type what happens, then Enter; Ctrl-C ends it", err=True)
        yield look


def _tell_broken(broken: Sequence[Broken]) -> None:
    """Say how many messages were not heard whole, on which identifiers and when: what they held was not learned."""
    from witnessmark.cli.decode.text import time_text

    if not broken:
        return
    lines = Counter(one.line.name for one in broken)
    shown = ", ".join(f"{name} ({count})" for name, count in lines.most_common(FIRST))
    first = ", ".join(f"{time_text(one.at_ns)} on {one.line.name}" for one in broken[:FIRST])
    click.echo(
        f"{counted(len(broken), 'message')} not heard whole: frames are missing or out of order, on {shown}\n"
        f"  first at {first}\n"
        "  what they held was not learned: runs, rests and identifiers around them may be incomplete",
        err=True,
    )


def _tell(vehicle: VehicleMap, recording: Recording, output: Path) -> None:
    from witnessmark.cli.tables import draw
    from witnessmark.mapping.show import overview, tables

    for error in recording.damage[:20]:
        click.echo(f"damaged: {error}; {error.hint}", err=True)
    if recording.damaged > len(recording.damage[:20]):
        click.echo(f"damaged: {counted(recording.damaged - 20, 'more place')}", err=True)
    if vehicle.units:
        draw(overview(vehicle))
    for unit in vehicle.units:
        if unit.candidates:
            draw(tables(unit)[-1])
    candidates = sum(len(one.candidates) for one in vehicle.units)
    found = f"{counted(len(vehicle.units), 'control unit')}, {counted(candidates, 'candidate wire command')}"
    click.echo(f"{found}, map written to {output}")
    if any(unit.candidates for unit in vehicle.units):
        click.echo("name them with: witnessmark protocol name")

"""`witnessmark decode FILE`: a recording in, its conversations out, for people or one JSON object a line.

Exit codes: 0 read; 1 read, and the file is damaged somewhere; 2 nothing could be read. Conversations go to standard
output; damage, sums and progress to standard error.
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from witnessmark.recording.conversation import Conversation
    from witnessmark.recording.doip import DoipMessage, StreamLoss
    from witnessmark.recording.file import Recording
    from witnessmark.recording.finding import Found, Named
    from witnessmark.recording.line import Line
    from witnessmark.recording.reading import Reading

    Item = Conversation | DoipMessage | StreamLoss

_LONG = 16 << 20
_MANY = 20_000
_SHOWN_DAMAGE = 20
_SHOWN_ASIDE = 5
_BLOCK = 500


def _identifiers(ctx: click.Context, param: click.Parameter, values: tuple[str, ...]) -> tuple[Named, ...]:
    """Read CAN identifiers or DoIP addresses, with or without 0x, with an address byte behind a slash or without."""
    found = []
    for value in values:
        number, slash, ext = value.partition("/")
        try:
            one = int(number, 16), int(ext, 16) if slash else None
        except ValueError:
            raise click.BadParameter(
                f"{value} is not hexadecimal, such as 7E8, 18DAF110 or 6F1/12", ctx, param
            ) from None
        if not 0 <= one[0] <= 0x1FFF_FFFF or not 0 <= (one[1] or 0) <= 0xFF:
            raise click.BadParameter(f"{value} fits no identifier: they have up to 29 bits", ctx, param)
        found.append(one)
    return tuple(found)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="One conversation a line, as a JSON object.")
@click.option(
    "--id",
    "identifiers",
    multiple=True,
    metavar="HEX",
    callback=_identifiers,
    help="Only the conversations that this identifier takes part in, whatever it carries; repeatable.",
)
def decode(file: Path, as_json: bool, identifiers: tuple[Named, ...]) -> None:
    """Print the diagnostic conversations of a recording.

    FILE is candump text, pcap, pcapng or what the python-can library reads; gzip of any.
    """
    from witnessmark.recording.file import open_recording
    from witnessmark.recording.reading import read_recording

    recording = open_recording(file)
    size = len(recording.content)
    with _progress(f"reading {file.name}", size, size >= _LONG) as behind:
        recording.progress = behind
        reading = read_recording(recording)
        unheard = frozenset(
            one for one in identifiers if not any(_is_named(line, *one) for line in reading.found.lines)
        )
        if unheard:
            reading = read_recording(recording, unheard)
    items = [item for item in _in_order(reading) if not identifiers or _takes_part(item, identifiers)]
    try:
        _write(items, partial(_shown_as(as_json), found=reading.found))
    except BrokenPipeError:
        # Whoever read this has seen enough. Standard output is pointed nowhere, so that the last flush is quiet.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    _sum_up(recording, reading, items)
    if recording.damaged:
        raise click.exceptions.Exit(1 if recording.frames_read or reading.doip else 2)


def _shown_as(as_json: bool) -> Callable[..., str]:
    if as_json:
        from witnessmark.cli.decode_json import json_line

        return json_line
    from witnessmark.cli.decode_text import text_of

    return text_of


def _in_order(reading: Reading) -> list[Item]:
    """Conversations, and between them the DoIP messages that are not part of one, by time."""
    from witnessmark.recording.doip import DoipMessage
    from witnessmark.wire.doip import DiagnosticMessage

    items: list[Item] = list(reading.conversations)
    if reading.doip:
        items += [
            one
            for one in reading.doip
            if not (isinstance(one, DoipMessage) and isinstance(one.payload, DiagnosticMessage))
        ]
        items.sort(key=lambda item: getattr(item, "first_ns", 0) or getattr(item, "time_ns", 0))
    return items


def _takes_part(item: Item, identifiers: tuple[Named, ...]) -> bool:
    from witnessmark.recording.conversation import Conversation, line_of

    if not isinstance(item, Conversation):
        return False
    lines = [line_of(part) for part in item.parts()]
    return any(_is_named(line, number, ext) for line in lines for number, ext in identifiers)


def _is_named(line: Line, number: int, ext: int | None) -> bool:
    if line.width == 32:
        return ext is None and number in (line.number >> 16, line.number & 0xFFFF)
    return line.number == number and ext in (None, line.ext)


def _write(items: list[Item], show: Callable[[Item], str]) -> None:
    rest = iter(items)
    with _progress(
        f"writing {len(items)} items", len(items), len(items) >= _MANY and not sys.stdout.isatty()
    ) as behind:
        done = 0
        while block := list(islice(rest, _BLOCK)):
            sys.stdout.write("".join(show(item) + "\n" for item in block))
            done += len(block)
            behind(done)
    sys.stdout.flush()


@contextmanager
def _progress(what: str, total: int, long: bool) -> Iterator[Callable[[int], None]]:
    """Show on a terminal's standard error how far something long is; yields what is told how much is behind."""
    if not long or not sys.stderr.isatty():
        yield lambda behind: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(what, total=total)
        yield lambda behind: progress.update(task, completed=behind)


def _sum_up(recording: Recording, reading: Reading, items: list[Item]) -> None:
    from witnessmark.cli.decode_text import type_name
    from witnessmark.recording.conversation import Conversation
    from witnessmark.recording.doip import DoipMessage

    for error in recording.damage[:_SHOWN_DAMAGE]:
        click.echo(f"damaged: {error}; {error.hint}", err=True)
    if recording.damaged > _SHOWN_DAMAGE:
        click.echo(f"damaged: {recording.damaged - _SHOWN_DAMAGE} more places", err=True)
    conversations = [item for item in items if isinstance(item, Conversation)]
    messages = sum((one.request is not None) + len(one.answers) for one in conversations)
    lost = sum(len(one.lost) for one in conversations)
    if recording.frames_read:
        click.echo(f"{recording.frames_read} frames read", err=True)
    click.echo(f"{len(conversations)} conversations, {messages} messages, {lost} messages lost", err=True)
    _tell_aside(reading.found)
    if reading.doip:
        types = Counter(one.payload_type for one in reading.doip if isinstance(one, DoipMessage))
        for payload_type, count in sorted(types.items()):
            click.echo(f"DoIP {payload_type:04X} {type_name(payload_type)}: {count}", err=True)
        for one in reading.doip:
            if isinstance(one, DoipMessage) and one.refused:
                click.echo(f"DoIP against the standard in packet {one.packet}: {one.refused}", err=True)


def _tell_aside(found: Found) -> None:
    aside = found.aside
    if not aside:
        return
    shown = [f"{line.name} ({why})" for line, why in aside[:_SHOWN_ASIDE]]
    if len(aside) > _SHOWN_ASIDE:
        shown.append(f"{len(aside) - _SHOWN_ASIDE} more")
    one = len(aside) == 1
    said = "1 identifier looks like it and was" if one else f"{len(aside)} identifiers look like it and were"
    click.echo(f"{said} set aside: {', '.join(shown)}; read {'it' if one else 'one'} with --id", err=True)

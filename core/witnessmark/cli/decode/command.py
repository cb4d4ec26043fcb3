"""`witnessmark decode FILE`: a recording in, its conversations out, for people or one JSON object a line.

Conversations go to standard output as they are made; damage, sums and progress to standard error. Exit codes: see
`decode`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import click

from witnessmark.cli.decode.sums import Sums, tell
from witnessmark.errors import LocalError

if TYPE_CHECKING:
    from witnessmark.recording.conversation import Conversation
    from witnessmark.recording.doip import DoipMessage, StreamLoss
    from witnessmark.recording.finding import Named
    from witnessmark.recording.line import Line
    from witnessmark.recording.reading import Reading

    Item = Conversation | DoipMessage | StreamLoss

_LONG = 16 << 20
_MANY = 20_000
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
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@click.option("--json", "as_json", is_flag=True, help="One conversation a line, as a JSON object.")
@click.option("--raw", is_flag=True, help="Print every byte of a message, however long it is.")
@click.option(
    "--id",
    "identifiers",
    multiple=True,
    metavar="HEX",
    callback=_identifiers,
    help="Only the conversations that this identifier takes part in, whatever it carries; repeatable.",
)
def decode(file: Path, as_json: bool, raw: bool, identifiers: tuple[Named, ...]) -> None:
    """Print the diagnostic conversations of a recording.

    FILE is candump text, pcap, pcapng or what the python-can library reads; gzip of any; - is standard input.

    Exit codes: 0 read; 1 something in the file could not be read, what could is printed; 2 nothing could be read.
    """
    from witnessmark.recording.file import open_recording, read_stream
    from witnessmark.recording.reading import read_recording

    standard_input = str(file) == "-"
    recording = read_stream(sys.stdin.buffer, "standard input") if standard_input else open_recording(file)
    size = len(recording.content)
    with _progress(f"reading {recording.path.name}", size, size >= _LONG) as behind:
        recording.progress = behind
        reading = read_recording(recording)
        unheard = frozenset(
            one for one in identifiers if not any(_is_named(line, *one) for line in reading.found.lines)
        )
        if unheard:
            reading = read_recording(recording, unheard)
    items = (item for item in _in_order(reading) if not identifiers or _takes_part(item, identifiers))
    sums = Sums()
    try:
        _write(items, len(reading.conversations), partial(_shown_as(as_json, raw), found=reading.found), sums)
    except BrokenPipeError:
        # Whoever read this has seen enough. Standard output is pointed nowhere, so that the last flush is quiet.
        _silence()
        sums.broken_off = True
    except OSError as error:
        _silence()
        raise LocalError(
            f"standard output cannot be written: {error.strerror}", hint="write to a place with room"
        ) from None
    tell(recording, reading, sums)
    if recording.damaged:
        raise click.exceptions.Exit(1 if recording.frames_read or reading.doip else 2)
    if recording.unread and not recording.frames_read and not reading.doip:
        raise click.exceptions.Exit(1)


def _silence() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


def _shown_as(as_json: bool, raw: bool) -> Callable[..., str]:
    if as_json:
        from witnessmark.cli.decode.json import json_line

        return json_line
    from witnessmark.cli.decode.text import text_of

    return partial(text_of, raw=raw)


def _in_order(reading: Reading) -> Iterable[Item]:
    """Conversations, and between them the DoIP messages that are not part of one, by time."""
    if not reading.doip:
        return reading.conversations
    from witnessmark.recording.doip import DoipMessage
    from witnessmark.wire.doip import DiagnosticMessage

    items: list[Item] = list(reading.conversations)
    items += [
        one for one in reading.doip if not (isinstance(one, DoipMessage) and isinstance(one.payload, DiagnosticMessage))
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


def _write(items: Iterable[Item], many: int, show: Callable[[Item], str], sums: Sums) -> None:
    rest = iter(items)
    with _progress(f"writing {many} items", many, many >= _MANY and not sys.stdout.isatty()) as behind:
        done = 0
        while block := list(islice(rest, _BLOCK)):
            sys.stdout.write("".join(show(item) + "\n" for item in block))
            sums.count(block)
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

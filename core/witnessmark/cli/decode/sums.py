"""What stands below the conversations of a recording, on standard error: damage, sums, what was left out and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from witnessmark.recording.conversation import Conversation
    from witnessmark.recording.doip import DoipMessage, StreamLoss
    from witnessmark.recording.file import Recording
    from witnessmark.recording.finding import Found
    from witnessmark.recording.reading import Reading

_SHOWN_DAMAGE = 20
_SHOWN_LINES = 5


@dataclass(slots=True)
class Sums:
    """Counts what is written. `broken_off`: whoever read it stopped."""

    conversations: int = 0
    messages: int = 0
    lost: int = 0
    broken_off: bool = False

    def count(self, items: Iterable[Conversation | DoipMessage | StreamLoss]) -> None:
        """Count some items."""
        from witnessmark.recording.conversation import Conversation
        from witnessmark.recording.doip import StreamLoss

        for one in items:
            if isinstance(one, Conversation):
                self.conversations += 1
                self.messages += (one.request is not None) + len(one.answers)
                self.lost += len(one.lost)
            elif isinstance(one, StreamLoss):
                self.lost += 1


def tell(recording: Recording, reading: Reading, sums: Sums) -> None:
    """Write it all."""
    for error in recording.damage[:_SHOWN_DAMAGE]:
        click.echo(f"damaged: {error}; {error.hint}", err=True)
    if recording.damaged > _SHOWN_DAMAGE:
        click.echo(f"damaged: {counted(recording.damaged - _SHOWN_DAMAGE, 'more place')}", err=True)
    for link_type, count in sorted(recording.unread.items()):
        click.echo(f"{counted(count, 'packet')} of link type {link_type}, which is not read", err=True)
    if recording.frames_read:
        click.echo(f"{counted(recording.frames_read, 'frame')} read", err=True)
    if sums.broken_off:
        click.echo(f"{counted(len(reading.conversations), 'conversation')}, not all of them written", err=True)
    else:
        click.echo(
            f"{counted(sums.conversations, 'conversation')}, {counted(sums.messages, 'message')},"
            f" {counted(sums.lost, 'message')} lost",
            err=True,
        )
    if reading.backwards:
        click.echo(f"time runs backwards {counted(reading.backwards, 'time')}: answers may be paired wrongly", err=True)
    _tell_left_out(reading.found)
    _tell_doip(reading)


def counted(count: int, word: str) -> str:
    """`1 frame`, `2 frames`."""
    return f"{count} {word}{'' if count == 1 else 's'}"


def _tell_left_out(found: Found) -> None:
    if found.refused:
        shown = [f"{line.name} ({count})" for line, count in found.refused]
        click.echo(f"frames that ISO 15765-2 tells a receiver to ignore: {_few(shown)}", err=True)
    if found.aside:
        shown = [f"{line.name} ({why})" for line, why in found.aside]
        one = len(shown) == 1
        said = "1 identifier looks like it and was" if one else f"{len(shown)} identifiers look like it and were"
        click.echo(f"{said} set aside: {_few(shown)}; read {'it' if one else 'one'} with --id", err=True)


def _few(shown: list[str]) -> str:
    more = [f"{len(shown) - _SHOWN_LINES} more"] if len(shown) > _SHOWN_LINES else []
    return ", ".join(shown[:_SHOWN_LINES] + more)


def _tell_doip(reading: Reading) -> None:
    from witnessmark.cli.decode.text import type_name
    from witnessmark.recording.doip import DoipMessage

    types = Counter(one.payload_type for one in reading.doip if isinstance(one, DoipMessage))
    for payload_type, count in sorted(types.items()):
        click.echo(f"DoIP {payload_type:04X} {type_name(payload_type)}: {count}", err=True)
    for one in reading.doip:
        if isinstance(one, DoipMessage) and one.refused:
            click.echo(f"DoIP against the standard in packet {one.packet}: {one.refused}", err=True)

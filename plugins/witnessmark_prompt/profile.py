"""The profile: what an interface's own manual says about talking to it, as a TOML file.

The types of the document, key by key; `loading` reads it. Rules that hold here: a key that is not known is refused;
nothing of a real product is built in, so what is left out is not done.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from witnessmark_prompt.checksum import Kind

Means = Literal["busy", "refused", "no_answer", "bus_error", "bus_off", "garbled", "ignore"]
Milliseconds = Annotated[int, msgspec.Meta(ge=1, le=600_000)]


class Strict(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A part of the document: unknown keys are refused."""


class Serial(Strict, frozen=True):
    """Serial settings."""

    baud: Annotated[int, msgspec.Meta(ge=50, le=12_000_000)] = 115_200
    bits: Literal[5, 6, 7, 8] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop: Literal[1, 2] = 1
    flow: Literal["none", "rts-cts", "xon-xoff"] = "none"


class Text(Strict, frozen=True):
    """How lines look. `prompt` stands at the start of a line and has no line end; `echo`: commands come back first."""

    prompt: Annotated[str, msgspec.Meta(min_length=1, max_length=80)]
    command_end: Annotated[str, msgspec.Meta(min_length=1, max_length=4)] = "\r"
    line_end: Annotated[str, msgspec.Meta(min_length=1, max_length=4)] = "\n"
    echo: bool = False
    longest_line: Annotated[int, msgspec.Meta(ge=16, le=100_000)] = 10_000
    byte_gap: Annotated[str, msgspec.Meta(max_length=1)] = ""


class Command(Strict, frozen=True):
    """A command and the line that answers it (empty: any line that means no error); sent `attempts` times at most."""

    send: str
    answer: str = ""
    within_ms: Milliseconds = 1000
    attempts: Annotated[int, msgspec.Meta(ge=1, le=10)] = 1


class Send(Strict, frozen=True):
    """How data is sent, for 11-bit identifiers and (where given) 29-bit ones. `accepted` is the line that says so.

    `within_ms` is how long the prompt may take. `type_ahead`: the interface takes a command before its prompt.
    `abandon` makes it drop the command it works on.
    """

    command: str
    command_extended: str = ""
    accepted: str = ""
    within_ms: Milliseconds = 1000
    type_ahead: bool = False
    abandon: str = ""


class Receive(Strict, frozen=True):
    """How what is received looks; `remote` are remote frames, `begun` the first part of a long answer."""

    lines: Annotated[tuple[str, ...], msgspec.Meta(min_length=1)]
    remote: tuple[str, ...] = ()
    begun: str = ""
    time_unit: Literal["us", "ms"] = "us"


class Sum(Strict, frozen=True):
    """The check sum `{sum}`: of the characters of the line before `until` (empty: before the sum), or of the data."""

    kind: Kind
    over: Literal["text", "data"] = "text"
    until: str = ""


class Meaning(Strict, frozen=True):
    """A line and what it means."""

    line: str
    means: Means


class Abilities(Strict, frozen=True):
    """What the interface can do beside: said to the audit and the screens."""

    listen: Literal["silent", "acknowledging", "no"] = "no"
    functional: bool = True
    shows_pending: bool = True
    max_payload: Annotated[int, msgspec.Meta(ge=7)] = 4095
    min_gap_ms: Annotated[int, msgspec.Meta(ge=0)] = 0
    keepalive_ms: Annotated[int, msgspec.Meta(ge=1)] | None = None


class Profile(Strict, frozen=True, kw_only=True):
    """The whole document. `level`: it carries CAN frames, or whole diagnostic messages."""

    format: Literal["witnessmark-profile/1"]
    name: str
    source: str
    level: Literal["frame", "message"]
    serial: Serial = Serial()
    text: Text
    start: tuple[Command, ...] = ()
    listen_only: tuple[Command, ...] = ()
    address: tuple[Command, ...] = ()
    send: Send
    receive: Receive
    sum: Sum | None = None
    meanings: tuple[Meaning, ...] = ()
    abilities: Abilities = Abilities()

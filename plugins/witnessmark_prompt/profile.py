"""The profile: what an interface's own manual says about talking to it, as a TOML file.

A file flows in through `load_profile`, a frozen `Profile` flows out. Rules that hold here: a key that is not known is
refused; every mistake names file and key; nothing of a real product is built in, so what is left out is not done.
"""

from __future__ import annotations

import importlib.util
import re
import string
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from witnessmark.errors import InputError
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


def load_profile(name: str) -> Profile:
    """Read the profile `name`: a path, or `package:file.toml` for one that an installed package ships in its `data`.

    Raises InputError that names the file and the line or key, and says what was expected.
    """
    path = _locate(name)
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be read: {error.strerror}", place=str(path), hint="name the interface's profile, profile=FILE.toml"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError("is not UTF-8 text", place=str(path), hint="save it as UTF-8") from error
    return parse_profile(text, str(path))


def parse_profile(text: str, place: str) -> Profile:
    """Read a profile's text. Raises InputError as `load_profile` does."""
    try:
        profile = msgspec.toml.decode(text, type=Profile)
    except msgspec.ValidationError as error:
        what, _, path = str(error).partition(" - at `$")
        key = path.rstrip("`").lstrip(".")
        raise InputError(
            what, place=f"{place}, {key}" if key else place, hint="see the keys in the profile of the practice adapter"
        ) from error
    except msgspec.DecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        raise InputError(
            f"is not TOML: {error}",
            place=f"{place} line {line[1]}" if line else place,
            hint="texts stand in quotes, tables in brackets",
        ) from error
    _check(profile, place)
    return profile


def _check(profile: Profile, place: str) -> None:
    for key, text in (("text.command_end", profile.text.command_end), ("text.line_end", profile.text.line_end)):
        if not set(text) <= {"\r", "\n"}:
            raise InputError(f"{text!r} is not a line end", place=f"{place}, {key}", hint=r'write "\r", "\n" or "\r\n"')
    if profile.text.line_end in profile.text.prompt:
        raise InputError(
            "the prompt holds a line end", place=f"{place}, text.prompt", hint="write what follows it alone"
        )
    if set(profile.text.prompt.strip()) <= set(string.hexdigits):
        raise InputError(
            f"the prompt {profile.text.prompt!r} may as well be data", place=f"{place}, text.prompt",
            hint="make the interface give a prompt with a character that is no hex digit",
        )  # fmt: skip
    if profile.abilities.listen != "no" and not profile.listen_only:
        raise InputError(
            "no commands that make it listen only",
            place=f"{place}, listen_only",
            hint='list them, or set abilities.listen = "no"',
        )
    if profile.listen_only and profile.abilities.listen == "no":
        raise InputError(
            "commands to listen only, but it cannot",
            place=f"{place}, abilities.listen",
            hint='write "silent" when it does not even acknowledge frames, else "acknowledging"',
        )
    if profile.address and profile.level == "frame":
        raise InputError(
            "frames carry their own address", place=f"{place}, address", hint='leave it out, or set level = "message"'
        )


def _locate(name: str) -> Path:
    package, colon, file = name.partition(":")
    if not colon or not package.isidentifier() or len(package) == 1:  # one letter is a drive
        return Path(name)
    spec = importlib.util.find_spec(package)
    for folder in (spec.submodule_search_locations if spec else None) or ():
        return Path(folder) / "data" / file
    raise InputError(
        f"no installed package {package!r}", place=f"profile {name}", hint="write a path, or package:file.toml"
    )

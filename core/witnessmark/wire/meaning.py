"""What a message means: its parameters in order, each with its bytes, its value and a text for people.

Decoders of every service family hand out `Decoded`. Nothing is dropped: the first byte, the fields and `rest` together
are the payload.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, NamedTuple

Direction = Literal["request", "positive", "negative"]
Problem = Literal["", "short", "long"]
"""`short`: a parameter that the standard asks for is cut off; `long`: bytes are left that it does not know."""


_SHOWN = 32
"""Bytes and codes beyond these are counted, not printed, in texts for people; the values hold them all."""


def hex_text(raw: bytes) -> str:
    """Print bytes as pairs of hex digits; long ones are cut and say how long they are."""
    if len(raw) > _SHOWN:
        return f"{raw[:_SHOWN].hex(' ').upper()} ... ({len(raw)} bytes)"
    return raw.hex(" ").upper()


def list_text(texts: Sequence[str]) -> str:
    """Print a list; of a long one the first, and how many more there are."""
    if len(texts) > _SHOWN:
        return f"{', '.join(texts[:_SHOWN])} and {len(texts) - _SHOWN} more"
    return ", ".join(texts)


def problem_text(problem: Problem, rest: bytes) -> str:
    """Say at the end of a line what is wrong with a message's length; empty where nothing is."""
    if problem == "short":
        return f"; cut off after {hex_text(rest)}" if rest else "; cut off"
    if problem == "long":
        return f"; followed by {hex_text(rest)}"
    return ""


class Field(NamedTuple):
    """One parameter, named as the standard prints it. `value` is a number, or the raw bytes where none is defined."""

    name: str
    raw: bytes
    value: Any
    text: str


class Decoded(NamedTuple):
    """One message read. `service` is the request's number; `text` one line for people."""

    service: int
    name: str
    direction: Direction
    fields: tuple[Field, ...]
    rest: bytes
    text: str
    problem: Problem = ""

    def value(self, name: str) -> Any:
        """Give the value of the first field of that name, or None."""
        for field in self.fields:
            if field.name == name:
                return field.value
        return None

    def values(self, name: str) -> tuple[Any, ...]:
        """Give the values of all fields of that name, in order."""
        return tuple(field.value for field in self.fields if field.name == name)


def refusal(payload: bytes, name: str, code_name: str, refused: str = "") -> Decoded:
    """Read a negative answer of any family: 7F, the service refused, the code; more bytes stay in `rest`.

    `refused` says what was refused, where more is known than the service's name.
    """
    code = payload[2]
    fields = (
        Field("requestServiceIdentifier", bytes(payload[1:2]), payload[1], name),
        Field("responseCode", bytes(payload[2:3]), code, f"{code_name} (0x{code:02X})"),
    )
    rest = bytes(payload[3:])
    problem: Problem = "long" if rest else ""
    text = f"negative: {refused or name} {fields[1].text}{problem_text(problem, rest)}"
    return Decoded(payload[1], name, "negative", fields, rest, text, problem)

"""The protocol map: one control unit's addresses, timing, conditions and wire commands.

Flows in: a JSON file, or the copy kept in a journal. Flows out: frozen structs. Rules that hold here: bytes are
upper-case hex text; no floats (times are whole milliseconds); what nobody has measured is left out and shown as
"not known". A wire command here is only a description: nothing is sent without an approval in the journal for this
very control unit.
"""

from __future__ import annotations

from typing import Literal

import msgspec


class Strict(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A part of the document: unknown keys are refused."""


class AddressPair(Strict, frozen=True):
    """Where requests go and where answers come from, as hex text (`7A0`); `bits` is 11 or 29 for CAN."""

    request: str
    answer: str
    bits: int = 11
    functional: str = ""


class Timing(Strict, frozen=True):
    """The control unit's own timing in ms, as its session answer said or as it was measured."""

    p2_ms: int = 50
    p2_star_ms: int = 5000
    s3_ms: int = 5000


class ConditionRead(Strict, frozen=True):
    """How a precondition is read: an identifier, where in its answer, and what the raw value means.

    The value is `raw * numerator / denominator` in `unit`, or the name that `names` gives the raw value.
    """

    name: str
    identifier: str
    offset: int = 0
    length: int = 1
    numerator: int = 1
    denominator: int = 1
    unit: str = ""
    names: dict[str, str] = {}


class WireCommand(Strict, frozen=True, kw_only=True):
    """A request that makes the control unit act. `start` may hold one hole `{seconds}` (one byte, whole seconds).

    `on_stop`, `on_lost_session` and `on_lost_supply` say in words what the unit then does; "not known" by default.
    `budget_ms` is how long it may go on answering 0x78 before its own answer.
    """

    id: str
    words: str
    start: str
    stop: str
    results: str = ""
    session: int = 3
    longest_s: int
    cool_down_s: int
    budget_ms: int = 10_000
    on_stop: str = "not known"
    on_lost_session: str = "not known"
    on_lost_supply: str = "not known"
    origin: Literal["published", "learned"] = "published"


class Identification(Strict, frozen=True):
    """Identification values that bind a map to a control unit: identifier in hex and its value in hex."""

    identifier: str
    value: str


class ProtocolMap(Strict, frozen=True, kw_only=True):
    """The whole document. `invented` is true for practice data."""

    format: Literal["witnessmark-map/1"]
    id: str
    title: str
    source: str
    invented: bool = False
    address: AddressPair
    timing: Timing = Timing()
    identification: tuple[Identification, ...]
    conditions: tuple[ConditionRead, ...] = ()
    wire_commands: tuple[WireCommand, ...] = ()

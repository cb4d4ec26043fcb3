"""The protocol map of one control unit, and the map of a whole vehicle, which holds one of these for each unit.

Flows in: a JSON file, the copy kept in a journal, or what was learned. Flows out: frozen structs. Rules that hold here:
bytes are upper-case hex text; no floats (times are whole milliseconds); what nobody has measured is left out and shown
as "not known". A wire command here is only a description: nothing is sent without an approval in the journal for this
very control unit. Approvals stand in the journal and not here: they bind to the map's digest.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from witnessmark.mapping.facts import (
    Candidate,
    CodeFormat,
    Evidence,
    Habits,
    IdentifierFact,
    Observed,
    ServiceFact,
    SessionFact,
    Strict,
)

Transport = Literal["iso15765-2", "iso14230", "iso13400"]


HeaderForm = Literal["", "addresses", "none", "exception"]


class AddressPair(Strict, frozen=True):
    """Where requests go and where answers come from, as hex text (`7A0`).

    `bits` is 11 or 29 for CAN, 16 for ISO 13400, 8 for ISO 14230. `request` is empty for a unit that was only heard
    answering, then nothing can be sent to it. `extension` is the address byte of the answers in extended and mixed
    addressing; that of the requests is the same, or `request_extension` where it is another. `header` is the form of
    the headers of ISO 14230 that its answers had (`exception`: that of ISO 9141-2).
    """

    request: str
    answer: str
    bits: int = 11
    functional: str = ""
    transport: Transport = "iso15765-2"
    extension: str = ""
    request_extension: str = ""
    header: HeaderForm = ""


class Timing(Strict, frozen=True):
    """The control unit's own timing in ms, as its session answer said or as it was measured.

    `keep_alive` is the request that keeps a session; empty: 3E80, and 3E01 on ISO 14230.
    """

    p2_ms: int = 50
    p2_star_ms: int = 5000
    s3_ms: int = 5000
    keep_alive: str = ""


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
    names: dict[str, str] = msgspec.field(default_factory=dict)


class WireCommand(Strict, frozen=True, kw_only=True):
    """A request that makes the control unit act. `start` may hold one hole `{seconds}` (one byte, whole seconds).

    `on_stop`, `on_lost_session` and `on_lost_supply` say in words what the unit then does; "not known" by default.
    `budget_ms` is how long it may go on answering 0x78 before its own answer. `preconditions` name conditions of the
    map. A `learned` one carries what was `observed`.
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
    preconditions: tuple[str, ...] = ()
    observed: Observed | None = None
    evidence: Evidence | None = None


class Identification(Strict, frozen=True):
    """Identification values that bind a map to a control unit: identifier in hex and its value in hex."""

    identifier: str
    value: str


class ProtocolMap(Strict, frozen=True, kw_only=True):
    """One control unit. `invented` is true for practice data. Below `wire_commands`: what was learned."""

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
    sessions: tuple[SessionFact, ...] = ()
    services: tuple[ServiceFact, ...] = ()
    identifiers: tuple[IdentifierFact, ...] = ()
    codes: tuple[CodeFormat, ...] = ()
    habits: Habits | None = None
    candidates: tuple[Candidate, ...] = ()
    evidence: Evidence | None = None


class FunctionalFact(Strict, frozen=True, kw_only=True):
    """An address that many units listen to, its address byte if any, and how often each service was asked."""

    request: str
    bits: int = 11
    extension: str = ""
    asked: dict[str, int] = msgspec.field(default_factory=dict)


class VehicleMap(Strict, frozen=True, kw_only=True):
    """All control units of one vehicle that were found, in the order of their addresses.

    `silent` are addresses that a probe asked alone and that gave no answer, in ranges (`7E1-7E7`).
    """

    format: Literal["witnessmark-vehicle-map/1"]
    id: str
    title: str
    source: str
    invented: bool = False
    units: tuple[ProtocolMap, ...] = ()
    functional: tuple[FunctionalFact, ...] = ()
    silent: tuple[str, ...] = ()
    evidence: Evidence | None = None

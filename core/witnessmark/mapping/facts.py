"""The facts of a protocol map: what a control unit was seen to answer, each with the evidence it rests on.

Frozen structs. Rules that hold here: bytes and addresses are upper-case hex text; no floats; moments are wall
nanoseconds since 1970 UTC as text, spans are whole microseconds or milliseconds; what nobody asked is not in it and
stays "not known".
"""

from __future__ import annotations

from typing import Literal

import msgspec


class Strict(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A part of the document: unknown keys are refused."""


class Evidence(Strict, frozen=True):
    """What a fact rests on: `source` is the link's scheme or the recording's name, `digest` that file's SHA-256."""

    how: Literal["probed", "heard", "published", "told"]
    source: str = ""
    digest: str = ""
    first_ns: str = ""
    last_ns: str = ""
    count: int = 1


class SessionFact(Strict, frozen=True, kw_only=True):
    """A diagnostic session that was asked for, and the times its answer states (ISO 14229-1, 10.2)."""

    session: int
    name: str = ""
    answer: Literal["positive", "refused", "silent"]
    code: str = ""
    p2_ms: int | None = None
    p2_star_ms: int | None = None
    evidence: Evidence


class ServiceFact(Strict, frozen=True, kw_only=True):
    """A service that was asked for. `asked` counts requests to this unit alone, the others answers of each kind.

    `codes` counts refusals by response code, `sub_functions` are those that were answered positively.
    """

    service: str
    name: str = ""
    asked: int = 0
    positive: int = 0
    codes: dict[str, int] = msgspec.field(default_factory=dict)
    silent: int = 0
    sub_functions: tuple[str, ...] = ()
    evidence: Evidence


class IdentifierFact(Strict, frozen=True, kw_only=True):
    """An identifier that was read: `value` is the last one, `values` how many different ones came.

    `service` is 22, 21, 1A, or an OBD mode, whose identifier is a parameter. `text`, `name` and `unit` are what a
    decoder or the standard says.
    """

    service: str
    identifier: str
    name: str = ""
    value: str = ""
    length: int = 0
    values: int = 0
    text: str = ""
    unit: str = ""
    code: str = ""
    evidence: Evidence


class CodeFormat(Strict, frozen=True, kw_only=True):
    """How trouble codes are reported: the request, bytes a code, the status bits that the unit keeps, and the codes."""

    request: str
    bytes_per_code: int
    availability: str = ""
    codes: tuple[str, ...] = ()
    evidence: Evidence


class Spread(Strict, frozen=True, kw_only=True):
    """How long something took over many times, in microseconds."""

    count: int
    least_us: int
    median_us: int
    p95_us: int
    most_us: int


class Habits(Strict, frozen=True, kw_only=True):
    """What was measured of a unit's timing.

    `answer` is the time from the request's end to the first part of the answer or 0x78. `pending` counts exchanges
    with 0x78, `pending_most` the most in one, `pending_gap` from one to what followed. `kept_alive_ms` is how often
    another tester sent tester present, `longest_pause_ms` the longest pause after which a session other than the
    default one was still served.
    """

    answer: Spread | None = None
    pending: int = 0
    pending_most: int = 0
    pending_gap: Spread | None = None
    kept_alive: str = ""
    kept_alive_ms: int | None = None
    longest_pause_ms: int | None = None


class Observed(Strict, frozen=True, kw_only=True):
    """What was seen of a wire command over its repeats.

    `runs` started with a positive answer, `ended` with a confirmed stop. `seconds` are the values its hole had.
    `rest_ms` is the shortest pause after which it started again, `refused_rest_ms` the longest after which it was
    refused as too soon. `needs` are services that the other tester used before it, `varied` says which bytes varied
    unexplained. `preconditions` are refusals in words.
    """

    runs: int
    ended: int
    shortest_ms: int | None = None
    longest_ms: int | None = None
    seconds: tuple[int, ...] = ()
    rest_ms: int | None = None
    refused_rest_ms: int | None = None
    session: int | None = None
    functional: bool = False
    needs: tuple[str, ...] = ()
    varied: tuple[str, ...] = ()
    refusals: dict[str, int] = msgspec.field(default_factory=dict)
    pending_ms: int = 0


class Run(Strict, frozen=True, kw_only=True):
    """One run that was heard. `seconds` is what its hole held; `ms` from the positive answer to the start to the
    positive answer to the stop, None where no stop was confirmed."""

    start_ns: str
    request: str
    ms: int | None = None


class Candidate(Strict, frozen=True, kw_only=True):
    """A wire command heard from another tester and not named yet.

    `start` shows constant bytes as hex and varying ones as `..`, or the hole `{seconds}`. `refused_ns` are the moments
    at which a start was refused, `said` is what a person said while it was heard. `never` says why it will not be sent,
    as far as that can be known.
    """

    id: str
    start: str
    stop: str = ""
    results: str = ""
    observed: Observed
    runs: tuple[Run, ...] = ()
    refused_ns: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    evidence: Evidence

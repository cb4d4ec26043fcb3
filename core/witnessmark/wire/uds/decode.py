"""One ISO 14229-1 message in, its meaning out: for screens, sheets and the command line.

Bytes that the standard does not explain stay raw, in a field or in `rest`; a message cut off or overlong is read as far
as it goes and says so in `problem`. Only an empty message and a negative answer without its code raise.
Numbers 0x01 to 0x0F belong to ISO 15031-5 (ISO 14229-1, table 2) and are handed to its decoder; numbers that ISO
14229-1 leaves open and ISO 14230-3 uses go to that one's, because units are met that answer both on one bus.
"""

from __future__ import annotations

from functools import cache

from witnessmark.wire import identifiers
from witnessmark.wire.kwp import decode as kwp
from witnessmark.wire.kwp.services import SERVICES as KWP_SERVICES
from witnessmark.wire.layout import Part
from witnessmark.wire.meaning import Decoded, Direction, Field, Problem, hex_text, list_text, problem_text, refusal
from witnessmark.wire.obd import decode as obd
from witnessmark.wire.uds.codes import nrc_name
from witnessmark.wire.uds.head import Head, head
from witnessmark.wire.uds.layouts import SUB_FUNCTION_NAMES, answer_layout, request_layout
from witnessmark.wire.uds.names import sub_function_name
from witnessmark.wire.uds.records import split_records
from witnessmark.wire.uds.services import WITH_SUB_FUNCTION, Service, service_name
from witnessmark.wire.uds.texts import text_of

_KWP_ALONE = KWP_SERVICES.keys() - {int(service) for service in Service}
_NUMBERS = frozenset(("memoryAddress", "memorySize"))
_SAID_IN_HEAD = frozenset((*SUB_FUNCTION_NAMES.values(), "subFunction", "routineIdentifier"))


def decode(payload: bytes, *, request: bytes | None = None) -> Decoded:
    """Read one message. `request` is what it answers; with it, several records of one answer are told apart.

    Raises PeerError with reason `empty` or `short_negative`, and for nothing else.
    """
    facts = head(payload)
    if facts.service < 0x10:
        return obd.decode(payload)
    if facts.service in _KWP_ALONE:
        return kwp.decode(payload)
    if facts.negative:
        name = service_name(facts.service)
        return refusal(payload, name, nrc_name(facts.response_code or 0), _refused(facts.service, request))
    if facts.is_response:
        layout = answer_layout(facts.service, facts.sub_function or 0)
    else:
        layout = request_layout(facts.service, facts.sub_function or 0)
    direction: Direction = "positive" if facts.is_response else "request"
    name = service_name(facts.service)
    if layout is None:
        body = bytes(payload[1:])
        text = _line(name, direction, [hex_text(body)] if body else [], "", b"")
        return Decoded(facts.service, name, direction, (), body, text)
    parts, rest, problem = layout.read(bytes(payload[1:]))
    if facts.service == 0x22 and facts.is_response and request is not None:
        parts = _told_apart(parts, payload, request)
    known = facts.service == 0x27 and facts.sub_function in (*range(0x01, 0x43), 0x5F, 0x60)
    if known and len(payload) == 2 and facts.is_response == bool(payload[1] & 1):
        problem = "short"  # a seed, or a key, has at least one byte (clause 10.4)
    fields = _fields(parts, facts)
    title, details = _summary(name, facts, fields)
    return Decoded(
        facts.service, name, direction, fields, rest, _line(title, direction, details, problem, rest), problem
    )


def is_kwp_session(answer: bytes) -> bool:
    """Say whether a positive answer to service 10 is of ISO 14230-3: none of ISO 14229-1 has bit 7 set (8.4)."""
    return len(answer) > 1 and answer[0] == 0x50 and answer[1] >= 0x80


def describe(payload: bytes, request: bytes | None = None) -> str:
    """Say in one line what a message means; raises as `decode`."""
    return decode(payload, request=request).text


def _refused(service: int, request: bytes | None) -> str:
    """What was refused, from its request, as far as that is the request of this service."""
    if not request or request[0] != service or service & 0x40:
        return ""
    asked = decode(request)
    return _summary(asked.name, head(request), asked.fields)[0]


def _told_apart(parts: list[Part], payload: bytes, request: bytes) -> list[Part]:
    """Split one answer to several identifiers, where only one way to split it exists."""
    if request[:1] != b"\x22":
        return parts
    asked = [int.from_bytes(request[at : at + 2], "big") for at in range(1, len(request) - 1, 2)]
    found = split_records(bytes(payload[1:]), asked) if len(asked) > 1 else None
    if found is None:
        return parts
    apart: list[Part] = []
    for identifier, record in found:
        apart.append(("dataIdentifier", identifier.to_bytes(2, "big"), identifier))
        apart.append(("dataRecord", record, record))
    return apart


def _fields(parts: list[Part], facts: Head) -> tuple[Field, ...]:
    fields = []
    identifier = 0
    with_sub = facts.service in WITH_SUB_FUNCTION
    for at, (name, raw, value) in enumerate(parts):
        if at == 0 and with_sub:
            # Bit 7 of an answer is zero by clause 8.4; where it is not, the byte is shown as it came.
            value = raw[0] if facts.is_response else raw[0] & 0x7F
            text = sub_function_name(facts.service, value)
        elif name == "dataRecord" and identifier:
            text = identifiers.record_text(identifier, raw)
        else:
            if name in _NUMBERS:
                value = int.from_bytes(raw, "big")
            text = text_of(name, value, raw)
            if name == "dataIdentifier":
                identifier = value
        fields.append(Field(name, raw, value, text))
    return tuple(fields)


def _summary(name: str, facts: Head, fields: tuple[Field, ...]) -> tuple[str, list[str]]:
    """Give the line's title (service, sub-function, routine) and its details."""
    title = name
    details = []
    codes: list[str] = []
    for field in fields:
        if field.name in _SAID_IN_HEAD or (field.name == "dataIdentifier" and title == name):
            title += f" {field.text}"
        elif field.name == "DTC":
            codes.append(field.text)
        elif field.name == "statusOfDTC" and codes:
            codes[-1] += f" ({_short_status(field.value)})"
        elif field.name == "dataIdentifier" and not facts.is_response:
            title += f", {field.text}"
        elif field.name in ("dataRecord", "dataIdentifier", "inputOutputControlParameter"):
            details.append(field.text)
        else:
            details.append(f"{field.name} {field.text}")
    if codes:
        details.append(f"{len(codes)} trouble code{'s' if len(codes) > 1 else ''}: {list_text(codes)}")
    if facts.suppress:
        details.append("no positive answer wanted")
    if facts.service == 0x10 and fields and fields[0].raw[0] & 0x80:
        session = f"session 0x{fields[0].raw[0]:02X} of ISO 14230-3"
        if facts.is_response:  # no answer of ISO 14229-1 has bit 7 set (clause 8.4)
            title = f"{KWP_SERVICES[0x10]} 0x{fields[0].raw[0]:02X}"
            details.append(session)
        else:
            details[-1] += f" (bit 7 may be the suppress bit, or this is {session})"
    return title, details


_STATUS_WORDS = (
    "failed now",
    "failed this operation cycle",
    "pending",
    "confirmed",
    "not tested since last clear",
    "failed since last clear",
    "not tested this operation cycle",
    "warning indicator requested",
)
"""Bits 0 to 7 of statusOfDTC (ISO 14229-1:2020, annex D.2)."""


@cache
def _short_status(status: int) -> str:
    """The byte itself and every bit that is set in it, in a workshop's words."""
    facts = [word for bit, word in enumerate(_STATUS_WORDS) if status >> bit & 1]
    return ", ".join([f"0x{status:02X}", *facts])


def _line(title: str, direction: str, details: list[str], problem: Problem, rest: bytes) -> str:
    said = list_text(details)
    if direction == "positive":
        line = f"{title}: positive, {said}" if said else f"{title}: positive"
    else:
        line = f"{title}: {said}" if said else title
    return line + problem_text(problem, rest)

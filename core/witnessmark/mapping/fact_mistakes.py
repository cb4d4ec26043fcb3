"""What cannot be in the learned facts of a map, though its form is right: each mistake with the key it stands at.

A map flows in, (path, what, hint) flow out. Rule that holds here: what is shown, compared or sent later can be read as
what it says it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from witnessmark.mapping.facts import Candidate, Evidence, Observed
from witnessmark.mapping.model import FunctionalFact, ProtocolMap

Mistake = tuple[str, str, str]

_BYTES = re.compile(r"(?:[0-9A-F]{2})*")
_BYTE = re.compile(r"[0-9A-F]{2}")
_MOMENT = re.compile(r"[0-9]{0,19}")
_DIGEST = re.compile(r"(?:[0-9a-f]{64})?")
_BYTE_HINT = "write two upper-case hex digits like 22"
_BYTES_HINT = "write upper-case hex, two digits a byte"
_RUN_MOMENT = re.compile(r"[0-9]{1,19}")
_MOMENT_HINT = "write nanoseconds since 1970 in digits"
_SESSION_HINT = "use 0 to 127, or to 254 of ISO 14230-3"
_START = re.compile(r"(?:[0-9A-F]{2}|\.\.|\{seconds\})+")
_DIGITS = {8: 2, 11: 3, 16: 4, 29: 8}


def fact_mistakes(unit: ProtocolMap) -> Iterator[Mistake]:
    """Name what cannot be among sessions, services, identifiers and trouble codes."""
    yield from _evidence("$.evidence", unit.evidence)
    for index, session in enumerate(unit.sessions):
        at = f"$.sessions[{index}]"
        if not 0 <= session.session <= 0xFE:
            yield f"{at}.session", f"{session.session} is no session", _SESSION_HINT
        if session.code:
            yield from _form(f"{at}.code", session.code, _BYTE, "response code", _BYTE_HINT)
        yield from _evidence(f"{at}.evidence", session.evidence)
    for index, service in enumerate(unit.services):
        at = f"$.services[{index}]"
        yield from _form(f"{at}.service", service.service, _BYTE, "service", _BYTE_HINT)
        for code in service.codes:
            yield from _form(f"{at}.codes.{code}", code, _BYTE, "response code", _BYTE_HINT)
        for place, sub in enumerate(service.sub_functions):
            yield from _form(f"{at}.sub_functions[{place}]", sub, _BYTE, "sub-function", _BYTE_HINT)
        yield from _evidence(f"{at}.evidence", service.evidence)
    for index, one in enumerate(unit.identifiers):
        at = f"$.identifiers[{index}]"
        yield from _form(f"{at}.service", one.service, _BYTE, "service", _BYTE_HINT)
        wide = re.compile(r"[0-9A-F]{4}" if one.service == "22" else r"[0-9A-F]{2}")
        hint = "write four hex digits for service 22, two for any other"
        yield from _form(f"{at}.identifier", one.identifier, wide, "identifier", hint)
        yield from _form(f"{at}.value", one.value, _BYTES, "bytes", _BYTES_HINT)
        if one.length * 2 != len(one.value):
            yield f"{at}.length", f"{one.length} is not how many bytes its value has", f"write {len(one.value) // 2}"
        if one.code:
            yield from _form(f"{at}.code", one.code, _BYTE, "response code", _BYTE_HINT)
        yield from _evidence(f"{at}.evidence", one.evidence)
    for index, format_ in enumerate(unit.codes):
        at = f"$.codes[{index}]"
        yield from _form(f"{at}.request", format_.request, _BYTES, "bytes", _BYTES_HINT)
        yield from _evidence(f"{at}.evidence", format_.evidence)
    if unit.habits is not None:
        yield from _form("$.habits.kept_alive", unit.habits.kept_alive, _BYTES, "bytes", _BYTES_HINT)
    for index, command in enumerate(unit.wire_commands):
        yield from _observed(f"$.wire_commands[{index}].observed", command.observed)
        yield from _evidence(f"$.wire_commands[{index}].evidence", command.evidence)
    for index, candidate in enumerate(unit.candidates):
        yield from _candidate(f"$.candidates[{index}]", candidate)


def _candidate(at: str, one: Candidate) -> Iterator[Mistake]:
    yield from _form(f"{at}.start", one.start, _START, "start", "write hex, `..` for a byte that varies, or {seconds}")
    for name in ("stop", "results"):
        yield from _form(f"{at}.{name}", getattr(one, name), _BYTES, "bytes", _BYTES_HINT)
    yield from _observed(f"{at}.observed", one.observed)
    for index, run in enumerate(one.runs):
        yield from _form(f"{at}.runs[{index}].start_ns", run.start_ns, _MOMENT, "moment", _MOMENT_HINT)
        yield from _form(f"{at}.runs[{index}].request", run.request, _BYTES, "bytes", _BYTES_HINT)
    for index, moment in enumerate(one.refused_ns):
        yield from _form(f"{at}.refused_ns[{index}]", moment, _RUN_MOMENT, "moment", _MOMENT_HINT)
    yield from _evidence(f"{at}.evidence", one.evidence)


def _observed(at: str, of: Observed | None) -> Iterator[Mistake]:
    if of is None:
        return
    for index, service in enumerate(of.needs):
        yield from _form(f"{at}.needs[{index}]", service, _BYTE, "service", _BYTE_HINT)
    for code in of.refusals:
        yield from _form(f"{at}.refusals.{code}", code, _BYTE, "response code", _BYTE_HINT)
    if of.session is not None and not 0 <= of.session <= 0xFE:
        yield f"{at}.session", f"{of.session} is no session", _SESSION_HINT


def functional_mistakes(index: int, one: FunctionalFact) -> Iterator[Mistake]:
    """Name what cannot be in one functional address of a vehicle."""
    at = f"$.functional[{index}]"
    digits = _DIGITS.get(one.bits)
    if digits is None:
        yield f"{at}.bits", f"{one.bits} bits cannot be", "use 8, 11, 16 or 29"
        return
    if not re.fullmatch(rf"[0-9A-F]{{{digits}}}", one.request):
        yield f"{at}.request", f"{one.request!r} is no address of {one.bits} bits", f"write {digits} hex digits"
    for service in one.asked:
        yield from _form(f"{at}.asked.{service}", service, _BYTE, "service", _BYTE_HINT)


def _form(at: str, text: str, wanted: re.Pattern[str], name: str, hint: str) -> Iterator[Mistake]:
    if not wanted.fullmatch(text):
        yield at, f"{text!r} is no {name}" if name != "bytes" else f"{text!r} is not bytes", hint


def _evidence(at: str, of: Evidence | None) -> Iterator[Mistake]:
    if of is None:
        return
    for name in ("first_ns", "last_ns"):
        yield from _form(f"{at}.{name}", getattr(of, name), _MOMENT, "moment", _MOMENT_HINT)
    yield from _form(f"{at}.digest", of.digest, _DIGEST, "SHA-256", "write 64 lower-case hex digits, or leave it out")

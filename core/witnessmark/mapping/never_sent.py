"""What is never sent of a wire command, told from the command and its evidence alone.

A wire command, or a candidate heard from another tester, flows in; reasons flow out, none when there is none. Rules
that hold here: there is no override; what was not observed counts against sending. What depends on the moment (a
cool-down, movement, another tester, the reservoir) is asked elsewhere, before every send.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from witnessmark.mapping.facts import Observed
from witnessmark.mapping.load import HOLE
from witnessmark.mapping.model import AddressPair, WireCommand
from witnessmark.mapping.peers import FUNCTIONAL_KLINE
from witnessmark.wire.can_id import is_functional, take_apart
from witnessmark.wire.uds.names import Session
from witnessmark.wire.uds.services import service_name

NEVER_NEEDED = (0x11, 0x27, 0x28, 0x29, 0x2E, 0x34, 0x35, 0x36, 0x37, 0x38, 0x3B, 0x3D, 0x85)
"""Services whose use before a wire command means that it cannot be learned: reset, security, writing, transfer.

Writing is 2E, and 3D into memory; 3B of ISO 14230-3 by a local identifier."""

_ROUTINES = (
    (range(0xE200, 0xE300), "deploys or tests what a safety system fires"),
    (range(0xFF00, 0x10000), "erases or programs memory"),
)
"""Routines of ISO 14229-1, annex F.1 (from memory), that are none of a service job: the standard gives them a use."""

_SHAPES = {
    "start": re.compile(r"3101[0-9A-F]{4}|2F[0-9A-F]{4}03"),
    "stop": re.compile(r"3102[0-9A-F]{4}|2F[0-9A-F]{4}00"),
    "results": re.compile(r"3103[0-9A-F]{4}|22[0-9A-F]{4}$"),
}


_WANTED = {
    "start": "a routine's start (3101) or an output's short-term adjustment (2F, 03)",
    "stop": "a routine's stop (3102) or an output's return (2F, 00)",
    "results": "a routine's results (3103) or one identifier read (22)",
}


class Reason(NamedTuple):
    """`rule` is a short name, `why` a sentence for people."""

    rule: str
    why: str


def reasons(command: WireCommand, address: AddressPair) -> tuple[Reason, ...]:
    """Return why `command` is never sent to the unit at `address`; nothing when nothing forbids it for ever."""
    found = _requests(command.start, command.stop, command.results)
    found += address_reasons(address)
    if _programs(command.session):
        found.append(Reason("programming-session", "it needs a programming session"))
    if command.origin == "learned":
        if command.observed is None:
            found.append(Reason("no-evidence", "it is called learned, and nothing says what was observed"))
        else:
            found += observed_reasons(command.observed)
            found += _beyond(command, command.observed)
    return tuple(found)


def candidate_reasons(
    start: str, stop: str, results: str, observed: Observed, address: AddressPair
) -> tuple[Reason, ...]:
    """Return the same for a candidate, in whose `start` varying bytes are `..`."""
    return (*_requests(start, stop, results), *address_reasons(address), *observed_reasons(observed))


def stop_reasons(command: WireCommand, address: AddressPair) -> tuple[Reason, ...]:
    """Return why not even its stop request is sent, as nothing of it ever was: it is no stop, or not to one unit."""
    found = [one for one in address_reasons(address) if one.rule == "functional" or not address.request]
    if not _SHAPES["stop"].match(command.stop):
        found.append(Reason("service", f"the stop request {command.stop} is not {_WANTED['stop']}"))
    if _programs(command.session):
        found.append(Reason("programming-session", "it needs a programming session"))
    return tuple(found)


def run_reasons(command: WireCommand, seconds: int) -> tuple[Reason, ...]:
    """Return why a run of so many seconds is never sent: longer than the map's longest, or than was observed."""
    found = []
    if not 1 <= seconds <= command.longest_s:
        found.append(Reason("too-long", f"{seconds} s are asked for, the map allows 1 to {command.longest_s} s"))
    observed = command.observed
    if command.origin == "learned" and observed is not None:
        if observed.longest_ms is None or seconds * 1000 > observed.longest_ms:
            longest = "no run was seen to its end" if observed.longest_ms is None else f"{observed.longest_ms} ms"
            found.append(Reason("beyond-observed", f"{seconds} s are asked for, the longest run seen: {longest}"))
        seen = observed.seconds
        if HOLE in command.start and not (seen and min(seen) <= seconds <= max(seen)):
            shown = ", ".join(map(str, seen)) or "none"
            found.append(Reason("beyond-observed", f"{seconds} s were never asked for by the other tester: {shown}"))
    return tuple(found)


def observed_reasons(observed: Observed) -> list[Reason]:
    """Return why what was observed of a wire command keeps it from ever being sent."""
    found = [
        Reason("needs", f"the other tester used {service_name(int(service, 16))} ({service}) before it")
        for service in observed.needs
    ]
    if observed.session is not None and _programs(observed.session):
        found.append(Reason("programming-session", "it ran in a programming session"))
    elif observed.session is not None and observed.session > 0x7F:
        found.append(Reason("kwp-session", "it ran in a session of ISO 14230-3, which is not entered from here"))
    if observed.functional:
        found.append(Reason("functional", "it was sent to all control units at once"))
    found += [Reason("varied", f"unexplained: {words}") for words in observed.varied]
    if observed.runs == 0:
        found.append(Reason("never-ran", "it was asked for, and no positive answer to its start was heard"))
    elif observed.ended == 0:
        found.append(Reason("end-never-seen", "its end was never observed"))
    return found


def _requests(start: str, stop: str, results: str) -> list[Reason]:
    found = []
    for name, text in (("start", start.replace(HOLE, "00")), ("stop", stop), ("results", results)):
        if not text and name != "start":
            if name == "stop":
                found.append(Reason("no-stop", "no request that stops it is known"))
        elif not _SHAPES[name].match(text):
            service = service_name(int(text[:2] or "0", 16))
            found.append(Reason("service", f"the {name} request {text} is {service} and not {_WANTED[name]}"))
    if start.startswith("31") and re.fullmatch(r"[0-9A-F]{4}", start[4:8]):
        uses = (use for numbers, use in _ROUTINES if int(start[4:8], 16) in numbers)
        found += [Reason("routine", f"by the standard routine {start[4:8]} {use}") for use in uses]
    if start and stop and start[:2] != stop[:2]:
        found.append(Reason("service", "start and stop are different services"))
    elif start and stop and _target(start) != _target(stop):
        found.append(Reason("service", "start and stop name different identifiers"))
    return found


def _target(request: str) -> str:
    return request[2:6] if request.startswith("2F") else request[4:8]


def _programs(session: int) -> bool:
    """A programming session of ISO 14229-1, or ISO 14230-3's ECUProgrammingMode, 85 (from memory).

    Heard without an answer that one looks like 05 with its answer suppressed; ISO 14229-1 has no 05 (10.2, reserved).
    """
    return session & 0x7F in (Session.PROGRAMMING, 0x05)


def address_reasons(address: AddressPair) -> list[Reason]:
    """Return why nothing that acts is ever sent to `address`: many listen to it, or it is not one to send to."""
    if not address.request:
        return [Reason("no-address", "the address of its requests is not known")]
    if address.extension or address.request_extension:
        return [Reason("no-address", "its frames carry an address byte, and none are sent with one")]
    number = int(address.request, 16)
    if _many_listen(address, number) or (address.functional and number == int(address.functional, 16)):
        return [Reason("functional", "its address is one that many control units listen to")]
    if address.transport == "iso15765-2" and number == int(address.answer, 16):
        return [
            Reason("no-address", "it would answer on the address of its requests, and no answer could be told apart")
        ]
    return []


def _many_listen(address: AddressPair, number: int) -> bool:
    """Whether a standard gives an address to many: all of these from memory but for ISO 15765's.

    ISO 13400-2, table 13: E000 to EFFF; ISO 14230-4: 33; SAE J1939-21: 255 in place of one target, in 29 bits.
    """
    if address.transport == "iso13400":
        return 0xE000 <= number <= 0xEFFF
    if address.transport == "iso14230":
        return number == FUNCTIONAL_KLINE
    parts = take_apart(number) if address.bits == 29 else None
    return is_functional(number, address.bits == 29) or (parts is not None and parts.target == 0xFF)


def _beyond(command: WireCommand, observed: Observed) -> list[Reason]:
    found = []
    if observed.longest_ms is not None and command.longest_s * 1000 > observed.longest_ms + 999:
        why = f"the map allows {command.longest_s} s, the longest run seen took {observed.longest_ms} ms"
        found.append(Reason("beyond-observed", why))
    too_soon_ms, rested_ms = observed.refused_rest_ms, observed.rest_ms
    if rested_ms is not None and command.cool_down_s * 1000 < rested_ms:
        why = f"the map asks {command.cool_down_s} s of rest, the shortest after which it was seen to start again "
        found.append(Reason("beyond-observed", why + f"took {rested_ms} ms"))
    elif rested_ms is None and too_soon_ms is not None and command.cool_down_s * 1000 <= too_soon_ms:
        why = f"the map asks {command.cool_down_s} s of rest, and after {too_soon_ms} ms it refused as too soon"
        found.append(Reason("beyond-observed", why))
    return found

"""Whether a probe that goes on is at the vehicle at which it began: what identifies that one is read again.

The lines of the log, and a reader, flow in; nothing flows out, or the probe ends. Rules that hold here: it comes
before anything else of the plan is asked; who answered must answer again, and nobody besides; what identified a unit
must come again as it was; nothing that is read here is learned from.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from witnessmark.link.frame import Peer
from witnessmark.mapping import read_request as reads
from witnessmark.mapping import words
from witnessmark.mapping.probe_log import Logged
from witnessmark.mapping.read_request import ReadRequest
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.standstill import WAKE
from witnessmark.mapping.unit import BINDING
from witnessmark.wire.identifiers import identifier_name

NUMBERS = ("F190", "F18C")
"""The vehicle's number and the unit's serial number (ISO 14229-1, annex C.1): they tell two alike apart."""
_READ_AGAIN = {"22" + one for one in (*NUMBERS, *BINDING)} | {"0902", "0904"}
"""Beside these, all that 1A gave: the unit's own records of ISO 14230-3."""
TRIES = 2


class OtherVehicle(ProbeStopped):
    """What the log began with is not what is here now. Nothing of the plan was asked."""


def check(reader: Reader, logged: Sequence[Logged]) -> None:
    """Ask again what identified each unit in `logged`, the lines that were there when the log was opened.

    Raises OtherVehicle where an answer differs or another unit answers, ProbeStopped where one answers no more.
    """
    before = [one for one in logged if not one.watch]
    for line in before:
        if line.request == _PRESENT:
            _answering(reader, line, before)
    for line in before:
        if line.answers and not line.functional and _identifies(line):
            _same(reader, line)


_PRESENT = reads.tester_present().payload.hex().upper()


def _identifies(line: Logged) -> bool:
    told = line.final[:1] not in (b"", b"\x7f")
    return told and (line.request in _READ_AGAIN or line.request.startswith("1A"))


def _answering(reader: Reader, line: Logged, before: Iterable[Logged]) -> None:
    """Ask who is there as then: an address that stayed silent then is left alone, unless all are asked at once."""
    then = {one.source for one in line.answers}
    if not (then or line.functional):
        return
    now = {one.source for one in _ask(reader, line, then).answers}
    alone = {one.source for other in before if other.request == _PRESENT for one in other.answers}
    if more := sorted(now - then - alone):
        raise _other(f"{', '.join(more)} answers now, and when this probe began it did not")
    if less := sorted(then - now):
        raise ProbeStopped(
            f"{', '.join(less)} answered when this probe began, and does not now: not awake, or another vehicle",
            f"{WAKE}; for another vehicle another --output",
            "wake",
        )


def _same(reader: Reader, line: Logged) -> None:
    again = _ask(reader, line, {"any"})
    if not again.answers:
        raise ProbeStopped(f"{line.target} does not answer any more: is the vehicle awake?", WAKE, "wake")
    if again.finals != line.finals:
        then, now = _value(line), _value(again)
        raise _other(f"{line.target} says that {_name(line)} is {now}, and when this probe began it was {then}")


def _ask(reader: Reader, line: Logged, wanted: set[str]) -> Logged:
    """Ask a logged request anew, once more where an answer that came then is missing."""
    source = int(line.source, 16) if line.source else None
    peer = Peer(int(line.target, 16), source, functional=line.functional, extended=line.bits == 29)
    again = line
    for _ in range(TRIES):
        again = reader.ask(peer, ReadRequest(bytes.fromhex(line.request)), watch=True)
        if again.answers and (wanted == {"any"} or wanted <= {one.source for one in again.answers}):
            break
    return again


def _name(line: Logged) -> str:
    if line.request.startswith("22"):
        return f"{line.request[2:]} ({identifier_name(int(line.request[2:], 16))})"
    return f"the answer to {line.request}"


def _value(line: Logged) -> str:
    if line.final[:1] == b"\x7f":
        return f"refused ({line.final.hex().upper()})"
    return words.value(line.final[3 if line.request.startswith("22") else 2 :].hex().upper())


def _other(why: str) -> OtherVehicle:
    return OtherVehicle(
        f"this is another vehicle, or its software was updated: {why}",
        "give another --output for this one; or --afresh, which forgets what was read before",
    )

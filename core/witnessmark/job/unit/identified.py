"""Which control unit answers: what an approval binds to and the job's vehicle, held against what is read.

An approval or a job's state and a way to read flow in; the first refusal, or nothing, flows out. Generators that yield
what they wait for, so that the loop goes on meanwhile. Rules that hold here: nothing but 22 is sent; who does not tell
who it is is nobody that was approved; silence is told with the next act, hands and nipples first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Generator, Iterable

from witnessmark.job import numbers
from witnessmark.job.allowed.approval import SOFTWARE, Approved, mismatch
from witnessmark.job.allowed.rules import Refusal
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.unit.waking import NO_WAY, wake_line
from witnessmark.job.walk.standing import named
from witnessmark.job.walk.state import JobState
from witnessmark.mapping.model import ProtocolMap, WireCommand
from witnessmark.talk.exchange import Exchange

RULE = "identification"
UPDATED = "it waits for the shop lead, who looks at what was changed and then approves it anew"
OTHER_UNIT = "hands off; look which vehicle and which unit this is: for another one a job is opened with its own map"
"""What to do where the software is another, and where anything else is."""
LEARNED = (
    "hands off; what was learned on other software is approved for no other: go on with another tester, or listen to "
    "it on this one, name it anew and open a job with that map"
)
"""What to do where the software is another, and the wire command in hand was learned by listening."""
Answer = tuple[Refusal | None, bytes]
"""Why nothing was told, or what was; nothing where it was refused."""
Read = Callable[[bytes], Generator[Exchange | Ticket, None, Answer]]
"""Asks one request, and gives what was answered."""
Check = Generator[Exchange | Ticket, None, Refusal | None]


def approved_unit(approved: Approved, read: Read, command: WireCommand | None, known: ProtocolMap | None) -> Check:
    """Hold what was approved to the unit that answers: each value that the approval names.

    `command` is to be sent, `known` is the map it stands in.
    """
    if not approved.body.identification:
        return Refusal(RULE, "the approval names no control unit", "approve it again")
    wrong: dict[str, str] = {}
    options = ""
    for identifier in approved.body.identification:
        silent, told = yield from read(b"\x22" + bytes.fromhex(identifier))
        if silent:
            return silent
        differs = mismatch(approved.body, identifier, told.hex().upper())
        if differs:
            wrong[identifier] = differs
            options += f" --software {identifier}={_typed(told)}"
    if not wrong:
        return None
    updated = wrong.keys() <= SOFTWARE and not any(one.endswith("=") for one in options.split())
    then = OTHER_UNIT
    if updated:
        learned = command is not None and command.origin == "learned"
        then = LEARNED if learned else f"{UPDATED}: {_approved_anew(approved, options, known)}"
    return Refusal(RULE, "; ".join(wrong.values()), then)


def _approved_anew(approved: Approved, options: str, known: ProtocolMap | None) -> str:
    """Return what the lead types to approve for the other software what was approved, and nothing more."""
    body, of_map = approved.body, known.wire_commands if known is not None else ()
    learned = {one.id for one in of_map if one.origin == "learned"}
    published = [name for name in body.wire_commands if name not in learned]
    if body.procedure_digest or set(published) != {one.id for one in of_map}:
        options = "".join(f" --command {name}" for name in published) + options
    files = "MAP is the file of this job's map"
    if body.procedure_digest:
        options, files = f" --procedure FILE{options}", f"{files}, FILE that of its procedure"
    return f"`witnessmark protocol approve MAP{options}` ({files})"


def _typed(told: bytes) -> str:
    """Return a number as it is typed: as text where that is plain, else in hex; empty where nothing was told."""
    plain = re.fullmatch(rb"[0-9A-Za-z][0-9A-Za-z._-]*", told)
    return told.decode("ascii") if plain else f"0x{told.hex().upper()}" if told else ""


def vehicle_of(state: JobState, read: Read) -> Check:
    """Hold a job to the vehicle whose number was read for it: another one may have the same software."""
    wanted = state.vehicle_read
    if not wanted:
        return None
    silent, told = yield from read(numbers.VEHICLE_NUMBER)
    if silent:
        return silent
    found = numbers.spelled(told)
    if found == wanted:
        return None
    why = f"the control unit says {found or 'no number'}, and this job's vehicle is {wanted}"
    return Refusal(RULE, why, "hands off; go to the vehicle of this job, or open one for this vehicle")


def answer(exchange: Exchange, state: JobState, said_open: Iterable[str] = ()) -> Answer:
    """Return what an exchange that has ended tells, or why it tells nothing.

    `said_open` are nipples that a person says stand open, besides those that are recorded.
    """
    if exchange.result == "lost":
        return Refusal("link-lost", "the link is lost", "check plug and cable, then arm again"), b""
    if exchange.result == "silence":
        return Refusal("no-answer", "the control unit does not answer", _when_silent(state, said_open)), b""
    told = exchange.answer if exchange.result == "positive" else None
    return None, told.payload[3:] if told is not None else b""


def _when_silent(state: JobState, said_open: Iterable[str]) -> str:
    """Return what to do about a silent unit: waking it may run something, so hands and nipples come first."""
    names = dict.fromkeys((*state.open_nipples, *said_open))
    shut = f"shut the nipple {' and '.join(named(state, one) for one in names)}, then " if names else ""
    first = f"first {shut}hands off; then look at plug and cable, and whether the vehicle is awake"
    return f"{first}: {wake_line(state.procedure) or NO_WAY}"

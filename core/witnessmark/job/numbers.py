"""What tells the control unit at hand apart from its like: its serial number and its vehicle's number, as it says them.

A bay flows in, requests leave (22 F190 and 22 F18C of ISO 14229-1, annex C.1); exchanges, recorded as identification,
and what they say flow out. Rules that hold here: it only reads; a number that the unit does not tell is empty, and
empty is no other number's like; what is not asked is not known and tells nothing apart.
"""

from __future__ import annotations

from collections.abc import Generator, Mapping
from dataclasses import replace

from witnessmark.errors import LocalError
from witnessmark.job.bay import Bay
from witnessmark.job.journal_thread import Ticket
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point
from witnessmark.journal.bodies import ExchangeBody, from_body
from witnessmark.journal.entry import Entry
from witnessmark.talk.exchange import Exchange

NUMBERS = ("F190", "F18C")
VEHICLE_NUMBER = bytes.fromhex("22F190")
"""The request by which the vehicle's own number is read."""
_REQUESTS = {f"22{one}": one for one in NUMBERS}


def noted(state: JobState, entry: Entry) -> JobState:
    """Take note of a number that an exchange tells; of a job's own control unit alone, which is asked for it."""
    if entry.body.get("purpose") != "identification" or entry.body.get("request") not in _REQUESTS:
        return state
    body = from_body(entry.kind, entry.body)
    assert isinstance(body, ExchangeBody)
    if body.result not in ("positive", "negative", "silence"):
        return state
    told = [one.payload for one in body.answers if one.verdict == "positive"]
    value = told[-1][6:] if body.result == "positive" and told else ""
    return replace(state, numbers=tuple((dict(state.numbers) | {_REQUESTS[body.request]: value}).items()))


def spelled(data: bytes) -> str:
    """Return a vehicle's number as its bytes spell it, empty where they are none."""
    return data.decode("ascii", "replace").strip().strip("\x00").upper()


def apart(one: Mapping[str, str], other: Mapping[str, str]) -> bool:
    """Whether two units say different numbers, of those that are known of both."""
    return any(one[name] != other[name] for name in one.keys() & other.keys())


def read(bay: Bay, pass_id: str) -> Generator[Exchange | Ticket, None, dict[str, str]]:
    """Ask for each number anew, but for one that has just ended in silence; give what was told, and wait meanwhile."""
    found: dict[str, str] = {}
    for request, name in _REQUESTS.items():
        payload = bytes.fromhex(request)
        if bay.talk.set_aside_ns(bay.peer, payload) is not None:
            continue
        exchange = bay.talk.begin(bay.peer, payload, bay.timing)
        yield exchange
        yield bay.record.exchange(exchange, "identification", pass_id=pass_id, shows_pending=bay.shows_pending)
        if exchange.result != "lost":
            answer = exchange.answer if exchange.result == "positive" else None
            found[name] = answer.payload[3:].hex().upper() if answer is not None else ""
    return found


class Reading:
    """Reads the numbers before anything is opened for a learned wire command: as `asking` does what a step asks."""

    def __init__(self, bay: Bay, point: Point) -> None:
        self.point = point
        self.failed = ""
        self.done = False
        self._steps = read(bay, point.pass_id)
        self._waits: Exchange | Ticket | None = None
        self._go_on()

    def ended(self, exchange: Exchange) -> bool:
        """Take in an exchange that has ended; False when it is another."""
        if exchange is not self._waits:
            return False
        self._go_on()
        return True

    def unrecorded(self, ticket: Ticket) -> None:
        """What came of it could not be written: it counts as not answered."""
        if ticket is self._waits:
            self._end(f"it cannot be recorded: {ticket.error}")

    def _go_on(self) -> None:
        try:
            self._waits = next(self._steps)
        except StopIteration as end:
            self._end("" if len(end.value) == len(NUMBERS) else "its numbers cannot be read")
        except LocalError as error:
            self._end(f"{error.what} ({error.hint})")
        if isinstance(self._waits, Ticket):
            self._waits.then = lambda _: self._go_on()

    def _end(self, failed: str) -> None:
        self._waits, self.failed, self.done = None, failed, True

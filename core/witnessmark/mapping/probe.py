"""Probing: who answers, what they are, what they let be read, their trouble codes. Nothing is changed.

A plan flows in; the log fills, and from it the map is made. Rules that hold here: all are asked at once first, so that
silence is paid once; an address that is silent is asked one time alone; a service that a unit does not have is not
asked for again; between requests the standstill is watched; one that goes on looks first whether it is at the same
vehicle, and each unit is asked first for what tells it apart from its like.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import chain

from witnessmark.clock import NS
from witnessmark.errors import PeerError
from witnessmark.link.frame import Peer
from witnessmark.mapping import read_request as reads
from witnessmark.mapping import resumed
from witnessmark.mapping.learn import Learner
from witnessmark.mapping.naming import Namer, nobody
from witnessmark.mapping.peers import bits, everybody, spell
from witnessmark.mapping.probe_log import Logged, ProbeLog
from witnessmark.mapping.read_request import Accepted, ReadRequest
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.mapping.silent import silent
from witnessmark.mapping.standstill import WAKE, Standstill
from witnessmark.talk.timing import Timing
from witnessmark.wire.obd import pids
from witnessmark.wire.obd.messages import as_on_can

IDENTIFICATION = (0xF180, 0xF19F)
KWP_IDENTIFICATION = range(0x80, 0xA0)
"""identificationOption of ISO 14230-3 that holds the unit's own records (from memory)."""
NOT_SUPPORTED = (0x11, 0x7F)
"""serviceNotSupported, and not in this session: no identifier of that service will be answered."""
TO_GO_BY = 8
"""After so many requests it is told how long the rest takes: fewer are too few to go by. No source."""
SILENCES = 10
"""After so many silences in a row a unit that has answered is asked whether it is still there. No source."""
OBD_MODES = (0x03, 0x07, 0x0A)
OBD_LISTS = (0x01, 0x02, 0x09)
"""Modes that list at 00, 20, 40 and so on what they have (ISO 15031-5): the list is asked for, then what is on it."""


@dataclass(frozen=True, slots=True)
class ProbePlan:
    """What to ask. `peers` are addresses to try, `identifiers` ranges for 22 beside F180-F19F, `local` for 21."""

    peers: tuple[Peer, ...]
    identifiers: tuple[tuple[int, int], ...] = ()
    local: tuple[tuple[int, int], ...] = ()
    extended_session: Accepted | None = None

    def __str__(self) -> str:
        addresses = " ".join(f"{peer.target:X}:{peer.source or 0:X}" for peer in self.peers)
        ranges = " ".join(f"{first:X}-{last:X}" for first, last in (*self.identifiers, *self.local))
        return f"{addresses} | {ranges} | {'10 03' if self.extended_session else ''}"


@dataclass(frozen=True, slots=True)
class Progress:
    """How far it is. `finding`: how many will answer, and so how much there is to read, is not known yet.

    `left_s` is how long it still takes, or how long finding does, in seconds of whoever waits; None until there is
    something to go by.
    """

    done: int
    total: int
    left_s: float | None
    doing: str
    finding: bool = False


class Probe:
    """One probe. `run` goes through all of it; `units` are those that answered."""

    def __init__(
        self,
        plan: ProbePlan,
        reader: Reader,
        standstill: Standstill,
        tell: Callable[[Progress], None] = lambda progress: None,
    ) -> None:
        self.units: list[Peer] = []
        self._plan = plan
        self._reader = reader
        self._standstill = standstill
        self._tell = tell
        self._finding = True
        self._done = 0
        self._total = len(plan.peers)
        self._begun_ns, self._asked_before = reader.clock.mono_ns(), 0
        self._silences = 0
        self._missing: dict[Peer, set[int]] = {}

    def run(self) -> None:
        """Ask everything. Raises ProbeStopped where it ends early: what came until then is in the log."""
        for peer in self._plan.peers:
            self._reader.expect(peer)
        self._standstill.first(self._reader)
        resumed.check(self._reader, self._reader.logged)
        self._measure_anew()
        self._find()
        self._finding = False
        self._total = len(self._plan.peers) + len(list(self._questions())) * len(self.units)
        self._measure_anew()
        for unit in self.units:
            self._read_all(unit)
        self._reader.finish()
        self._said("done")

    def _find(self) -> None:
        """Find who answers: all at once, then each that was silent alone."""
        answered: set[int] = set()
        if self._reader.functional:
            for all_ in everybody(self._plan.peers):
                line = self._ask(all_, reads.tester_present())
                answered |= {int(one.source, 16) for one in line.answers}
        for peer in self._plan.peers:
            here = peer.source in answered or bool(self._ask(peer, reads.tester_present()).answers)
            if here or peer.source in self._reader.late:
                self.units.append(peer)
                self._standstill.answered()
            self._done += 1
            self._said(_name(peer))

    def _questions(self) -> Iterator[ReadRequest]:
        yield reads.default_session()
        if self._plan.extended_session is not None:
            yield reads.extended_session(self._plan.extended_session)
        numbers = [int(one, 16) for one in resumed.NUMBERS]
        ranges = (range(first, last + 1) for first, last in (IDENTIFICATION, *self._plan.identifiers))
        yield from map(reads.read, dict.fromkeys(chain(numbers, *ranges)))
        yield reads.code_count()
        yield reads.codes()
        for option in KWP_IDENTIFICATION:
            yield reads.identification(option)
        for first, last in self._plan.local:
            for identifier in range(first, last + 1):
                yield reads.local(identifier)
        for mode in OBD_MODES:
            yield reads.obd_codes(mode)
        yield from map(_obd, OBD_LISTS)

    def _read_all(self, unit: Peer) -> None:
        missing = self._missing.setdefault(unit, set())
        self._silences = 0
        for request in self._questions():
            self._done += 1
            service = request.payload[0]
            if service in missing or (service == 0x1A and 0x22 not in missing):
                continue  # identification by 1A is for units that have no 22
            line = self._read(unit, request, missing)
            if service in OBD_LISTS:
                self._read_listed(unit, service, line, missing)
        if self._plan.extended_session is not None:
            self._reader.ask(unit, reads.default_session(), watch=True)

    def _read_listed(self, unit: Peer, mode: int, line: Logged, missing: set[int]) -> None:
        """Read what a list of an OBD mode names, lists among it; a mode that has turned out missing no more."""
        answer = as_on_can([line.final]) if line.final and bits(unit) == 8 else line.final
        listed = pids.supported(*_list_in(mode, answer))
        self._total += len(listed)
        for number in listed:
            self._done += 1
            if mode not in missing:
                further = self._read(unit, _obd(mode, number), missing)
                if number % 0x20 == 0:
                    self._read_listed(unit, mode, further, missing)

    def _read(self, unit: Peer, request: ReadRequest, missing: set[int]) -> Logged:
        line = self._ask(unit, request)
        self._silences = 0 if line.answers else self._silences + 1
        if self._silences == SILENCES:
            if not self._reader.ask(unit, reads.tester_present(), watch=True).answers:
                raise ProbeStopped(f"{_name(unit)} does not answer any more: is the vehicle awake?", WAKE, "wake")
            self._silences = 0
        self._learn(unit, request, line, missing)
        self._said(f"{_name(unit)}: {request.payload.hex(' ').upper()}")
        return line

    def _learn(self, unit: Peer, request: ReadRequest, line: Logged, missing: set[int]) -> None:
        service, final = request.payload[0], line.final
        if final[:1] == b"\x7f" and final[2:3] and final[2] in NOT_SUPPORTED:
            missing.add(service)
        elif not final and service not in (0x22, 0x10):
            missing.add(service)  # a unit that answers 22 and is silent on another service does not have it
        if request.payload == b"\x10\x01" and final[:1] == b"\x50":
            try:
                self._reader.timing(unit, Timing().after_session(final))
            except PeerError:
                return  # it states no times: the standard's go on holding

    def _ask(self, peer: Peer, request: ReadRequest) -> Logged:
        self._standstill.again(self._reader)
        return self._reader.ask(peer, request)

    def _measure_anew(self) -> None:
        """What a request takes is measured from here: before, a person was asked, or silence was paid."""
        self._begun_ns, self._asked_before = self._reader.clock.mono_ns(), self._reader.asked

    def _said(self, doing: str) -> None:
        left = max(0, self._total - self._done)
        asked = self._reader.asked - self._asked_before
        left_s = None if left else 0.0
        if left and asked >= TO_GO_BY:
            spent_s = self._reader.clock.real_s((self._reader.clock.mono_ns() - self._begun_ns) / NS)
            left_s = left * spent_s / asked
        self._tell(Progress(self._done, self._total, left_s, doing, self._finding))


def _obd(mode: int, number: int = 0) -> ReadRequest:
    ask = {0x01: reads.current_data, 0x02: reads.freeze_frame, 0x09: reads.vehicle_information}
    return ask[mode](number)


def _list_in(mode: int, answer: bytes) -> tuple[int, bytes]:
    """Return where the list of an answer begins and its four bytes; none where it is no list of this mode."""
    head = 3 if mode == 0x02 else 2  # a freeze frame says its number
    whole = len(answer) == head + 4 and answer[0] == mode + 0x40 and answer[1] % 0x20 == 0
    return (answer[1], answer[head:]) if whole else (0, b"")


def _name(peer: Peer) -> str:
    return spell(peer.target, bits(peer))


def learn(log: ProbeLog, namer: Namer = nobody) -> Learner:
    """Return what a log teaches; a log of a probe that was stopped gives a map of what came until then."""
    learner = Learner("probed", log.header.link.partition(":")[0], namer=namer)
    learner.silent = silent(log.lines)
    learner.headers = {int(one.source, 16): one.header for line in log.lines for one in line.answers if one.header}
    return learner.feed_all(seen for line in log.lines if not line.watch for seen in line.seen())

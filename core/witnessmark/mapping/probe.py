"""Probing: who answers, what they are, what they let be read, their trouble codes. Nothing is changed.

A plan flows in; the log fills, and from it the map is made. Rules that hold here: all are asked at once first, so that
silence is paid once; an address that is silent is asked one time alone; a service that a unit does not have is not
asked for again; between requests the standstill is watched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from witnessmark.errors import InputError, PeerError
from witnessmark.link.frame import Peer
from witnessmark.mapping import read_request as reads
from witnessmark.mapping.learn import Learner
from witnessmark.mapping.naming import Namer, nobody
from witnessmark.mapping.probe_log import Logged, ProbeLog
from witnessmark.mapping.read_request import Accepted, ReadRequest
from witnessmark.mapping.reader import Reader
from witnessmark.mapping.standstill import Standstill
from witnessmark.talk.timing import Timing
from witnessmark.wire import can_id

IDENTIFICATION = (0xF180, 0xF19F)
KWP_IDENTIFICATION = range(0x80, 0xA0)
"""identificationOption of ISO 14230-3 that holds the unit's own records (from memory)."""
NOT_SUPPORTED = (0x11, 0x7F)
"""serviceNotSupported, and not in this session: no identifier of that service will be answered."""
OBD_MODES = (0x03, 0x07, 0x0A)


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
    """How far it is. `left_s` is None until there is something to go by."""

    done: int
    total: int
    left_s: float | None
    doing: str


def standard_peers(*, extended: bool = False) -> tuple[Peer, ...]:
    """Return the addresses of ISO 15765-4: 7E0-7E7 with 11 bits, 18DAxxF1 with 29."""
    found = []
    for request in can_id.standard_requests(extended):
        answer = can_id.partner(request, extended)
        assert answer is not None
        found.append(Peer(request, answer, extended=extended))
    return tuple(found)


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
        self._done = 0
        self._total = len(plan.peers)
        self._begun_ns = reader.clock.mono_ns()
        self._missing: dict[Peer, set[int]] = {}

    def run(self) -> None:
        """Ask everything. Raises ProbeStopped where it ends early: what came until then is in the log."""
        for peer in self._plan.peers:
            self._reader.expect(peer)
        self._standstill.first(self._reader)
        self._find()
        per_unit = len(list(self._questions()))
        self._total = len(self._plan.peers) + per_unit * len(self.units)
        for number, unit in enumerate(self.units):
            self._read_all(unit)
            self._done = len(self._plan.peers) + per_unit * (number + 1)
        self._said("done")

    def _find(self) -> None:
        """Find who answers: all at once, then each that was silent alone."""
        answered: set[int] = set()
        if self._reader.functional:
            for everybody in dict.fromkeys(_everybody(peer) for peer in self._plan.peers):
                line = self._ask(everybody, reads.tester_present())
                answered |= {int(one.source, 16) for one in line.answers}
        for peer in self._plan.peers:
            here = peer.source in answered or bool(self._ask(peer, reads.tester_present()).answers)
            if here or peer.source in self._reader.late:
                self.units.append(peer)
            self._done += 1
            self._said(f"address {peer.target:03X}")

    def _questions(self) -> Iterator[ReadRequest]:
        yield reads.default_session()
        if self._plan.extended_session is not None:
            yield reads.extended_session(self._plan.extended_session)
        for first, last in dict.fromkeys((IDENTIFICATION, *self._plan.identifiers)):
            for identifier in range(first, last + 1):
                yield reads.read(identifier)
        yield reads.code_count()
        yield reads.codes()
        for option in KWP_IDENTIFICATION:
            yield reads.identification(option)
        for first, last in self._plan.local:
            for identifier in range(first, last + 1):
                yield reads.local(identifier)
        for mode in OBD_MODES:
            yield reads.obd_codes(mode)
        for base in (0x00, 0x20, 0x40):
            yield reads.current_data(base)
        for kind in (0x00, 0x02, 0x04, 0x0A):
            yield reads.vehicle_information(kind)

    def _read_all(self, unit: Peer) -> None:
        missing = self._missing.setdefault(unit, set())
        for request in self._questions():
            self._done += 1
            service = request.payload[0]
            if service in missing or (service == 0x1A and 0x22 not in missing):
                continue  # identification by 1A is for units that have no 22
            line = self._ask(unit, request)
            self._learn(unit, request, line, missing)
            self._said(f"{unit.target:03X}: {request.payload.hex(' ').upper()}")
        if self._plan.extended_session is not None:
            self._reader.ask(unit, reads.default_session(), watch=True)

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

    def _said(self, doing: str) -> None:
        spent_s = (self._reader.clock.mono_ns() - self._begun_ns) / 1e9
        left = max(0, self._total - self._done)
        per_request_s = spent_s / self._reader.asked if self._reader.asked else None
        self._tell(Progress(self._done, self._total, None if per_request_s is None else left * per_request_s, doing))


def _everybody(peer: Peer) -> Peer:
    return Peer(
        can_id.FUNCTIONAL_29 if peer.extended else can_id.FUNCTIONAL_11, functional=True, extended=peer.extended
    )


def learn(log: ProbeLog, namer: Namer = nobody) -> Learner:
    """Return what a log teaches; a log of a probe that was stopped gives a map of what came until then."""
    learner = Learner("probed", log.header.link.partition(":")[0], namer=namer)
    return learner.feed_all(seen for line in log.lines if not line.watch for seen in line.seen())


def parse_range(text: str, most: int) -> tuple[int, int]:
    """Read `F180-F19F` or `F190` as hex. Raises InputError for what is none or lies beyond `most`."""
    first, _, last = text.partition("-")
    try:
        found = int(first, 16), int(last or first, 16)
    except ValueError:
        found = -1, -1
    if not 0 <= found[0] <= found[1] <= most:
        raise InputError(f"{text!r} is no range", place="range", hint=f"write hex like F180-F19F, up to {most:X}")
    return found


def parse_peers(text: str) -> tuple[Peer, ...]:
    """Read `6B3:6BB`, or `600-6FF`, whose answers come 8 above. More than three digits mean 29 bits."""
    pair = text.split(":")
    extended = len(pair[0].partition("-")[0]) > 3
    most = 0x1FFF_FFFF if extended else 0x7FF
    first, last = parse_range(pair[0], most)
    if len(pair) == 2:
        answer, answers_to = parse_range(pair[1], most)
        if last - first != answers_to - answer:
            raise InputError(f"{text!r} has more of one than of the other", place="address", hint="write 6B3:6BB")
        return tuple(Peer(first + step, answer + step, extended=extended) for step in range(last - first + 1))
    if extended:
        peers = []
        for request in range(first, last + 1):
            partner = can_id.partner(request, True)
            if partner is None:
                raise InputError(f"who answers {request:08X} is not known", place="address", hint="write both: A:B")
            peers.append(Peer(request, partner, extended=True))
        return tuple(peers)
    return tuple(Peer(request, request + 8) for request in range(first, last + 1) if request + 8 <= most)

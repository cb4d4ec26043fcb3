"""Learning a vehicle: what was seen of it, by probing or by listening, becomes its map.

`Seen` flows in, in order of time; a `VehicleMap` flows out. Rules that hold here: a unit is where answers come from;
every fact says how often it was seen and when; what nobody asked stays out; a request that got no answer is counted
as silent where it is known whom it was for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from msgspec.structs import replace

from witnessmark.mapping.facts import Evidence
from witnessmark.mapping.model import AddressPair, FunctionalFact, HeaderForm, ProtocolMap, Transport, VehicleMap
from witnessmark.mapping.naming import Namer, nobody
from witnessmark.mapping.seen import Seen
from witnessmark.mapping.unit import Unit
from witnessmark.recording.line import Line


class Broken(NamedTuple):
    """A message of which frames are missing or out of order: when it began (wall ns), and the line it was on."""

    at_ns: int
    line: Line


class Learner:
    """Collects. `how`, `source` and `digest` are what every fact's evidence says.

    `broken` are the messages that were not heard whole, `silent` who was asked alone and gave no answer, `headers` with
    what headers each node of a K-line answered: whoever sees that fills them in.
    """

    def __init__(self, how: str, source: str, digest: str = "", namer: Namer = nobody) -> None:
        self._evidence = Evidence("probed" if how == "probed" else "heard", source, digest)
        self._namer = namer
        self._units: dict[Line, Unit] = {}
        self._functional: dict[Line, Counter[int]] = {}
        self.broken: list[Broken] = []
        self.silent: tuple[str, ...] = ()
        self.headers: dict[int, HeaderForm] = {}

    def feed(self, one: Seen) -> None:
        """Take in one request, or one answer without its request."""
        payload = one.payload
        if one.unit is None:
            if one.functional and payload and one.asked_on is not None:
                self._functional.setdefault(one.asked_on, Counter())[payload[0]] += 1
                if payload[0] in FOR_ALL:
                    for known in self._units.values():
                        known.asked_of_all(payload, one.asked_ns)
            return
        unit = self._units.get(one.unit)
        if unit is None:
            unit = self._units[one.unit] = Unit()
        unit.feed(one)

    def feed_all(self, many: Iterable[Seen]) -> Learner:
        """Take in all of them."""
        for one in many:
            self.feed(one)
        return self

    def vehicle(self, id_: str, title: str, *, invented: bool = False) -> VehicleMap:
        """Return the map of what was seen so far."""
        units = [self._unit(line, unit, id_, invented) for line, unit in sorted(self._units.items(), key=_place)]
        functional = tuple(
            FunctionalFact(
                request=_hex(line), bits=_bits(line), extension=_ext(line),
                asked={f"{service:02X}": count for service, count in sorted(asked.items())},
            )
            for line, asked in sorted(self._functional.items(), key=_place)
        )  # fmt: skip
        return VehicleMap(
            format="witnessmark-vehicle-map/1", id=id_, title=title, source=self._evidence.source, invented=invented,
            units=tuple(units), functional=functional, silent=self.silent, evidence=self._evidence,
        )  # fmt: skip

    def _unit(self, line: Line, unit: Unit, vehicle: str, invented: bool) -> ProtocolMap:
        functional = {one for one in unit.functional if one.channel == line.channel and one.ext is None}
        address = address_of(line, unit.asked_on(), min(functional, default=None))
        if line.width == NODE:
            address = replace(address, header=self.headers.get(line.number, ""))
        where = f" on {line.channel}" if line.channel else ""
        return ProtocolMap(
            format="witnessmark-map/1",
            id=f"{vehicle}-{line.name.replace('>', '-').replace('/', '-')}",
            title=f"control unit {address.answer}{where}",
            source=self._evidence.source,
            invented=invented,
            address=address,
            timing=unit.timing(),
            identification=unit.identification(),
            sessions=unit.sessions(self._evidence),
            services=unit.services(self._evidence),
            identifiers=unit.identifiers(self._evidence, self._namer),
            codes=unit.codes(self._evidence),
            habits=unit.habits(),
            candidates=unit.candidates(address, self._evidence),
            evidence=self._evidence,
        )


FOR_ALL = frozenset((0x10, 0x11, 0x28, 0x2F, 0x31, 0x3E, 0x85))
"""Asked of all at once, often without an answer: wire commands and what they may rest on, sessions, keep-alive."""


NODE = 8
"""The width of a line that is a node of a K-line."""
TRANSPORTS: dict[int, Transport] = {8: "iso14230", 32: "iso13400"}


def address_of(answer: Line, request: Line | None, functional: Line | None = None) -> AddressPair:
    """Return the address pair of the lines that were heard."""
    return AddressPair(
        request="" if request is None else _hex(request),
        answer=_hex(answer, answers=True),
        bits=_bits(answer),
        functional="" if functional is None else _hex(functional),
        transport=TRANSPORTS.get(answer.width, "iso15765-2"),
        extension=_ext(answer),
        request_extension="" if request is None or request.ext == answer.ext else _ext(request),
    )


def _ext(line: Line) -> str:
    return "" if line.ext is None else f"{line.ext:02X}"


def _hex(line: Line, *, answers: bool = False) -> str:
    if line.width == 32:
        return f"{line.number >> 16 if answers else line.number & 0xFFFF:04X}"
    return line._replace(ext=None).name


def _bits(line: Line) -> int:
    return 16 if line.width == 32 else int(line.width)


def _place(item: tuple[Line, object]) -> tuple[str, int, int, int]:
    line = item[0]
    return line.channel, line.width, line.number, -1 if line.ext is None else line.ext

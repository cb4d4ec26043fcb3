"""Whether the vehicle stands, is parked and is well supplied: read where it can be read, else asked of a person.

A reader and what is known of the vehicle flow in; nothing, or a reason to stop, flows out. Rules that hold here: the
first look comes before anything else is asked; what was read once is read again every few seconds, and what then gives
no answer once more before that ends it, with nothing else asked meanwhile; what cannot be read is asked once of a
person, and no answer is a no; it is tried again all along, for the vehicle may be switched on meanwhile, and as long as
it cannot be read it is told that nothing watches but the person.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import islice

from witnessmark.clock import NS
from witnessmark.errors import InputError
from witnessmark.link.frame import Peer
from witnessmark.mapping import read_request as reads
from witnessmark.mapping.condition_value import name_in, number_of
from witnessmark.mapping.model import ConditionRead, ProtocolMap
from witnessmark.mapping.reader import ProbeStopped, Reader
from witnessmark.quantity import plain
from witnessmark.wire.obd import pids

EVERY_S = 5.0
LOWEST_V = Fraction(23, 2)
"""11.5 V: below it a battery is near empty. Common practice, no source."""
PARKED = ("P", "park", "N", "neutral")
QUESTION = "Is the vehicle parked: standing still, out of gear or in P, and held so that it cannot roll?"
WAKE = "ignition on, as the maker says, and the same command again"
PARK = "park it: standing still, out of gear or in P, and held so that it cannot roll"
SUPPLY = "put a charger or a stabiliser on its supply, and leave it on"
SPEED_PID, VOLTAGE_PID = 0x0D, 0x42
PIDS = {SPEED_PID: "speed", VOLTAGE_PID: "voltage"}

_UNWATCHED = {
    SPEED_PID: "the speed cannot be read: nothing but your word says that the vehicle stands, so keep watching it, and "
    "Ctrl-C the moment it moves",
    VOLTAGE_PID: "the voltage cannot be read: nobody but you watches the supply",
}


class Standstill:
    """Looks before and during a probe. `known` is a map whose conditions tell; `confirm` asks a person yes or no.

    What no condition tells OBD does, asked of all at the functional addresses `all_`. `tell` is told what is not
    watched, and when it is.
    """

    def __init__(
        self,
        known: ProtocolMap | None,
        confirm: Callable[[str], bool],
        all_: tuple[Peer, ...] = (),
        tell: Callable[[str], None] = lambda text: None,
    ) -> None:
        self.told = False
        self._tell = tell
        self._peer: Peer | None = None
        self._conditions: dict[str, ConditionRead] = {}
        if known is not None and known.address.request and not known.address.extension:
            address = known.address
            self._peer = Peer(int(address.request, 16), int(address.answer, 16), extended=address.bits == 29)
            self._conditions = {one.name: one for one in known.conditions if one.name in ("speed", "gear", "voltage")}
        self._confirm = confirm
        self._all = all_
        self._obd: dict[int, Peer] = {}
        self._next_ns: int | None = None

    def first(self, reader: Reader) -> None:
        """Look for the first time. Raises ProbeStopped unless the vehicle is parked and stands."""
        self._seek(reader)
        self._look(reader)
        speed = "speed" in self._conditions or SPEED_PID in self._obd
        if not (speed and "gear" in self._conditions):
            self.told = self._confirm(QUESTION)
            if not self.told:
                raise ProbeStopped("nobody said that the vehicle is parked", PARK)
        for pid in self._missing():
            self._tell(_UNWATCHED[pid])

    def again(self, reader: Reader) -> None:
        """Look again when it is time. Raises ProbeStopped when the vehicle moves or its supply drops."""
        if self._next_ns is not None and reader.clock.mono_ns() >= self._next_ns:
            before = self._missing()
            self._look(reader, tries=2)
            self._seek(reader)
            for pid in (pid for pid in before if pid in self._obd):
                self._tell(f"the {PIDS[pid]} can be read now, and is watched from here on")

    def answered(self) -> None:
        """Look again at once where something is not watched: a unit that answers now may tell it."""
        if self._next_ns is not None and self._missing():
            self._next_ns = 0

    def _missing(self) -> tuple[int, ...]:
        return tuple(pid for pid, name in PIDS.items() if name not in self._conditions and pid not in self._obd)

    def _seek(self, reader: Reader) -> None:
        """Ask all for what is not watched yet, and take what is told at its word; nothing is waited for."""
        for pid in self._missing() if reader.functional else ():
            free = (one for one in self._all if not reader.set_aside(one, reads.current_data(pid)))
            told = ((one, self._parameter(reader, pid, one)) for one in free)
            for one, value in islice((each for each in told if each[1] is not None), 1):
                self._obd[pid] = one
                self._judge(PIDS[pid], value, "")

    def _look(self, reader: Reader, tries: int = 1) -> None:
        for condition in self._conditions.values():
            found = (self._read(reader, condition) for _ in range(tries))
            self._judge(condition.name, *next((one for one in found if one[0] is not None), (None, "")))
        for pid in sorted(self._obd):
            values = (self._parameter(reader, pid, self._obd[pid]) for _ in range(tries))
            self._judge(PIDS[pid], next((one for one in values if one is not None), None), "")
        self._next_ns = reader.clock.mono_ns() + round(EVERY_S * NS)

    def _read(self, reader: Reader, condition: ConditionRead) -> tuple[Fraction | None, str]:
        assert self._peer is not None
        reader.expect(self._peer)
        answer = reader.ask(self._peer, reads.read(int(condition.identifier, 16)), watch=True).final
        if answer[:1] != b"\x62":
            return None, ""
        try:
            return number_of(condition, answer[3:]), name_in(condition, answer[3:])
        except InputError:
            return None, ""  # too short to hold it: not read, which `_judge` refuses

    def _parameter(self, reader: Reader, pid: int, all_: Peer) -> Fraction | None:
        """Ask all of them; of several that tell, take the worst: the highest speed, the lowest voltage."""
        worst = max if pid == SPEED_PID else min
        values = (_value(pid, answer) for answer in reader.ask(all_, reads.current_data(pid), watch=True).finals)
        return worst((value for value in values if value is not None), default=None)

    def _judge(self, name: str, value: Fraction | None, shown: str) -> None:
        if value is None:
            raise ProbeStopped(f"the {name} cannot be read: is the vehicle awake?", WAKE, "wake")
        if name == "speed" and value:
            raise ProbeStopped(f"the vehicle moves: {plain(float(value))} km/h", PARK, "park")
        if name == "gear" and shown not in PARKED:
            raise ProbeStopped(
                f"the vehicle is not parked: the selector stands in {shown or plain(float(value))}", PARK, "park"
            )
        if name == "voltage" and value < LOWEST_V:
            lowest = plain(float(LOWEST_V))
            why = f"the supply is low: {plain(float(value))} V, and a probe asks nothing below {lowest} V"
            raise ProbeStopped(why, SUPPLY, "supply on")


def _value(pid: int, answer: bytes) -> Fraction | None:
    value = pids.scale(pid, answer[2:]) if answer[:2] == bytes((0x41, pid)) else None
    return None if value is None else Fraction(value)

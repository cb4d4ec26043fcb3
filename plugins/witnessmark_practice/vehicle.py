"""The practice truck: control unit, hydraulics, bus, traffic and adapter, moved on together.

Time in clock seconds since the truck began flows in through `advance`; characters of the adapter flow in and out. Rules
that hold here: nothing happens but in `advance` and in what the hands do; faults strike at the moment they are set for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from witnessmark_practice.bus import Bus
from witnessmark_practice.control_unit import ControlUnit, Mood
from witnessmark_practice.engine_unit import EngineUnit
from witnessmark_practice.faults import AT_START, Fault
from witnessmark_practice.hydraulics import Hydraulics
from witnessmark_practice.node import BRAKES, BRAKES_29, ENGINE, ENGINE_29, Node
from witnessmark_practice.other_tester import OtherTester
from witnessmark_practice.serial_adapter import SerialAdapter
from witnessmark_practice.surroundings import Surroundings
from witnessmark_practice.traffic import Traffic


@dataclass
class Opening:
    """One true opening of a nipple, in clock seconds; `closed_s` is None while it is open."""

    nipple: str
    opened_s: float
    closed_s: float | None = None
    torque: str = ""


@dataclass
class Truck:
    """The whole truck. `unplug` is called with True and False when the adapter is pulled off and put back.

    `wide`: its identifiers have 29 bits. `with_engine`: an engine control unit that knows OBD is on the bus too.
    """

    seed: int = 14
    rate: int = 1
    wide: bool = False
    with_engine: bool = False
    room: Callable[[], bool] = lambda: True
    unplug: Callable[[bool], None] = lambda pulled: None
    now_s: float = 0.0
    openings: list[Opening] = field(default_factory=list)
    remarks: list[tuple[float, str]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.around = Surroundings()
        self.fluid = Hydraulics()
        self.bus = Bus()
        self.unit = ControlUnit(self.around, self.fluid)
        place = BRAKES_29 if self.wide else BRAKES
        self.node = Node(self.unit, self.bus, self.rate, place)
        self.other_tester = OtherTester(self.bus, self.rate, place)
        self.nodes = [self.node]
        if self.with_engine:
            engine = EngineUnit(self.around)
            self.nodes.append(Node(engine, self.bus, self.rate, ENGINE_29 if self.wide else ENGINE))
        self.traffic = Traffic(self.bus, self.seed)
        self.adapter = SerialAdapter(self.bus, lambda: self.room(), self.rate)
        self.bus.ears += [*self.nodes, self.adapter, self.other_tester]

    def advance(self, now_s: float) -> None:
        """Let everything that is due until `now_s` happen, in order."""
        while (due_s := self.due_s()) is not None and due_s <= now_s:
            self._move(max(due_s, self.now_s))
        self._move(now_s)

    def take(self, characters: bytes, now_s: float) -> None:
        """Take characters that came to the adapter."""
        self.advance(now_s)
        self.adapter.take(characters, now_s)
        self._move(now_s)

    def due_s(self) -> float | None:
        """Return when something happens by itself, None while nothing will."""
        sleep_s = self.around.asleep_from_s if self.bus.awake and not self.around.ignition else None
        moments = (
            *(node.due_s() for node in self.nodes),
            self.adapter.due_s(),
            self.other_tester.due_s(),
            self.traffic.due_s(),
            self._fault_due_s(),
            sleep_s,
        )
        return min((moment for moment in moments if moment is not None), default=None)

    def plan_fault(self, fault: Fault) -> None:
        """Let a fault strike now, or when its run comes."""
        if fault.name == "dies" and fault.run is None and self.unit.actuator.active is None:
            fault = Fault("dies", len(self.unit.actuator.runs) + 1)
        if fault.run is None:
            self._strike(fault)
        else:
            self.faults.append(fault)
        self._strike_due()

    def _move(self, now_s: float) -> None:
        self.now_s = max(self.now_s, now_s)
        self.bus.awake = self.around.network_awake(self.now_s) and not self.unit.dead
        self.other_tester.advance(self.now_s)
        for node in self.nodes:
            node.advance(self.now_s)
        self.adapter.advance(self.now_s)
        self.traffic.advance(self.now_s)
        self._strike_due()

    def _fault_due_s(self) -> float | None:
        runs = self.unit.actuator.runs
        begun = [
            runs[fault.run - 1].start_s + fault.into_s
            for fault in self.faults
            if fault.run is not None and fault.run <= len(runs) and fault.name not in AT_START
        ]
        return min(begun, default=None)

    def _strike_due(self) -> None:
        runs = self.unit.actuator.runs
        for fault in list(self.faults):
            if fault.run is None:
                continue
            if fault.name in AT_START:
                due = len(runs) >= fault.run - 1
            else:
                due = len(runs) >= fault.run and runs[fault.run - 1].start_s + fault.into_s <= self.now_s
            if due:
                self.faults.remove(fault)
                self._strike(fault)

    def _strike(self, fault: Fault) -> None:
        self.remarks.append((self.now_s, f"fault {fault.name}"))
        match fault.name:
            case "none":
                self._mend()
            case "dies":
                self.unit.lose_supply(self.now_s)
                self.node.silence(self.now_s)
                self.bus.awake = False
            case "unplugged":
                self.unplug(True)
            case "garbled":
                self.adapter.garble += 1
            case "prompt-lost":
                self.adapter.swallow_prompt += 1
            case "low-voltage":
                self.around.weak_supply = True
            case mood:
                self.unit.mood = Mood(mood)

    def _mend(self) -> None:
        self.faults.clear()
        self.unit.mood = Mood.WELL
        self.unit.boot()
        self.around.weak_supply = False
        self.adapter.garble = self.adapter.swallow_prompt = 0
        self.unplug(False)

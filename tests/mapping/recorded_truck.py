"""A practice truck in memory with another tester on its bus, recorded frame by frame: no process and no waiting."""

from __future__ import annotations

import io
from pathlib import Path
from random import Random

from witnessmark.clock import Stamp
from witnessmark_practice.bus import BusFrame
from witnessmark_practice.node import FUNCTIONAL_ID, REQUEST_ID
from witnessmark_practice.trace import Trace
from witnessmark_practice.vehicle import Truck
from witnessmark_practice.wire_commands import WIRE_COMMANDS, WireCommand

ORIGIN = Stamp(1_750_000_000 * 1_000_000_000, 0)


class RecordedTruck:
    """`text` is the recording so far. The truck is ready for a run."""

    def __init__(self, seed: int = 14) -> None:
        self.truck = Truck(seed)
        self._file = io.StringIO()
        self.truck.bus.ears.insert(0, Trace(self._file, ORIGIN))
        self.truck.around.wake(0.0)
        self.truck.around.supplied = True
        self.truck.fluid.feed_fitted, self.truck.fluid.feed_bar = True, 2.0
        self.truck.advance(1.0)

    def ask(self, payload: str, wait_s: float = 0.2, *, functional: bool = False) -> None:
        """Send a request of at most 7 bytes and let time pass."""
        data = bytes.fromhex(payload)
        frame = (bytes((len(data),)) + data).ljust(8, b"\x00")
        can_id = FUNCTIONAL_ID if functional else REQUEST_ID
        self.truck.bus.put(None, BusFrame(can_id, frame, False, self.truck.now_s))
        self.wait(wait_s)

    def wait(self, seconds: float) -> None:
        self.truck.advance(self.truck.now_s + seconds)

    def keep_alive(self, seconds: float) -> None:
        """Let time pass with tester present every two seconds."""
        end_s = self.truck.now_s + seconds
        while end_s - self.truck.now_s > 2.0:
            self.ask("3E80", 2.0)
        self.wait(end_s - self.truck.now_s)

    def run(self, command: WireCommand, seconds: float, option: str | None = None) -> None:
        """Start, keep alive, stop after so many seconds from the start request, and let it cool down."""
        self.ask("1003")
        start, stop = requests(command)
        if command.takes_seconds:
            start += f"{round(seconds):02X}" if option is None else option
        self.ask(start, command.start_work_s + 0.05)
        self.keep_alive(seconds)
        self.ask(stop, command.stop_work_s + 0.1)
        self.keep_alive(command.cool_down_s + 6)

    @property
    def text(self) -> str:
        return self._file.getvalue()

    def write(self, path: Path) -> Path:
        path.write_text(self.text, encoding="ascii")
        return path


def requests(command: WireCommand) -> tuple[str, str]:
    """Return start, without its seconds, and stop."""
    if command.service == 0x31:
        return f"3101{command.identifier:04X}", f"3102{command.identifier:04X}"
    return f"2F{command.identifier:04X}03", f"2F{command.identifier:04X}00"


def thirty_runs(seed: int = 14) -> RecordedTruck:
    """Return a truck whose four wire commands ran 30 times, for different times, among ordinary traffic."""
    bay, random = RecordedTruck(seed), Random(seed)
    for number in range(30):
        command = WIRE_COMMANDS[number % 4]
        bay.run(command, 3 + random.random() * 7 if not command.takes_seconds else 3 + number % 5)
        bay.truck.fluid.refill(min(100, 800 - bay.truck.fluid.level_ml))
    return bay

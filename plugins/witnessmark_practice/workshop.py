"""The workshop: one practice truck alive in its own process, its serial line and its hands.

Rules that hold here: one thread, which sleeps until something comes or falls due; the truck is moved on to the present
before anything is done to it; a client that dies costs the truck nothing; SIGTERM and SIGINT end it clean.
"""

from __future__ import annotations

import contextlib
import json
import os
import select
import signal
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import TextIO

from witnessmark.clock import PracticeClock
from witnessmark_practice.faults import Fault
from witnessmark_practice.hands import Hands
from witnessmark_practice.hands_channel import HandsServer
from witnessmark_practice.serial_end import MOST_WAITING, make_serial_end
from witnessmark_practice.trace import Trace
from witnessmark_practice.truck_file import NAME, TruckFile, hold_folder, write_truck_file, writing
from witnessmark_practice.truth import truth
from witnessmark_practice.vehicle import Truck


class Workshop:
    """Everything of one truck. `folder` gets `port`, `hands` and `truck.json`.

    Raises LocalError when it cannot be made there.
    """

    def __init__(self, folder: Path, truck: Truck, *, tcp: bool = False) -> None:
        self._folder = folder.absolute()
        self.clock = PracticeClock(truck.rate)
        self.truck = truck
        with writing(folder):
            folder.mkdir(parents=True, exist_ok=True)
            self._lock = hold_folder(self._folder)
            self._line = make_serial_end(self._folder / "port", self.truck.adapter.power_up, tcp=tcp)
            self._channel = HandsServer(self._folder, self._do)
        self.truck.room = lambda: self._line.waiting() < MOST_WAITING
        self.truck.unplug = self._unplug
        self._pulled = False
        self._hands = Hands(self.truck)

    def trace_to(self, file: TextIO) -> None:
        """Write every frame on the bus to `file`."""
        self.truck.bus.ears.insert(0, Trace(file, self.clock.origin))

    def plan_faults(self, faults: list[Fault]) -> None:
        """Let faults strike when their time comes."""
        for fault in faults:
            self.truck.plan_fault(fault)

    def run(self, parent: int | None = None) -> None:
        """Live until SIGTERM or SIGINT; write `truck.json` when ready and remove it at the end.

        `parent` is a descriptor that becomes readable when whoever started the truck is gone: that ends it too.
        """
        also = [] if parent is None else [parent]
        with _told_to_end() as ended:
            write_truck_file(self._folder, self._document())
            try:
                while not ended.readable() and not select.select(also, [], [], 0)[0]:
                    self._turn([ended.fileno(), *also])
            finally:
                (self._folder / NAME).unlink(missing_ok=True)
                self._channel.close()
                self._line.unplug()
                self._lock.close()

    def now_s(self) -> float:
        """Return the clock seconds since the truck began."""
        return (self.clock.mono_ns() - self.clock.origin.mono_ns) / 1e9

    def _turn(self, ends: list[int]) -> None:
        due_s = self.truck.due_s()
        wait_s = None if due_s is None else max(0.0, self.clock.real_s(due_s - self.now_s()))
        readers = [*ends, *self._line.fds(), *self._channel.fds()]
        writers = self._line.fds() if self._line.waiting() else []
        ready, _, _ = select.select(readers, writers, [], wait_s)
        if set(ready) & set(self._line.fds()):
            self.truck.take(self._line.read(), self.now_s())
        self.truck.advance(self.now_s())
        self._speak()
        self._channel.serve(set(ready))
        self._speak()

    def _speak(self) -> None:
        """Hand what the adapter says to the line."""
        self.truck.advance(self.now_s())
        if self.truck.adapter.out or self._line.waiting():
            out = bytes(self.truck.adapter.out)
            self.truck.adapter.out.clear()
            self._line.write(out)

    def _do(self, act: str, item: str, amount: str) -> str:
        self.truck.advance(self.now_s())
        if act == "truth":
            return json.dumps(truth(self.truck, self.clock.origin, self.clock.rate))
        return self._hands.do(act, item, amount)

    def _unplug(self, pulled: bool) -> None:
        if pulled:
            self._line.unplug()
        elif self._pulled:
            self._line.plug()
        if pulled or self._pulled:  # one that was in all along has lost no supply, and still listens
            self.truck.adapter.power_up()
        self._pulled = pulled

    def _document(self) -> TruckFile:
        origin = self.clock.origin
        return TruckFile(
            port=self._line.port.removeprefix(f"{self._folder}{os.sep}"),
            hands=self._channel.address,
            rate=self.clock.rate,
            origin_wall_ns=origin.wall_ns,
            origin_mono_ns=origin.mono_ns,
            origin_boot_ns=origin.boot_ns,
            profile="witnessmark_practice:profile.toml",
            pid=os.getpid(),
        )


class _Ended:
    """Tells whether a signal asked to end."""

    def __init__(self, wakeup: socket.socket) -> None:
        self._wakeup = wakeup

    def fileno(self) -> int:
        return self._wakeup.fileno()

    def readable(self) -> bool:
        return bool(select.select([self._wakeup], [], [], 0)[0])


@contextlib.contextmanager
def _told_to_end() -> Iterator[_Ended]:
    ours, theirs = socket.socketpair()
    theirs.setblocking(False)
    before = {number: signal.signal(number, lambda *_: None) for number in (signal.SIGTERM, signal.SIGINT)}
    signal.set_wakeup_fd(theirs.fileno(), warn_on_full_buffer=False)
    try:
        yield _Ended(ours)
    finally:
        signal.set_wakeup_fd(-1)
        for number, handler in before.items():
            signal.signal(number, handler)
        ours.close()
        theirs.close()

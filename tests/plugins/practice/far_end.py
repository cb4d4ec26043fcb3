"""The other end of the practice adapter, as the adapter contract needs it: the bus of a truck that does nothing."""

from __future__ import annotations

import os
import queue
import select
import tempfile
import threading
from collections.abc import Sequence
from pathlib import Path

from witnessmark.clock import NS, SystemClock
from witnessmark.plugin import Frame
from witnessmark.testing import NotPossible
from witnessmark_practice.bus import Bus, BusFrame
from witnessmark_practice.serial_adapter import SerialAdapter
from witnessmark_practice.serial_end import MOST_WAITING, PtyEnd
from witnessmark_practice.truck_file import TruckFile, hold_folder, write_truck_file


class PracticeFarEnd:
    """An adapter on a bus, in a thread, and a `truck.json` that names its port."""

    garbage = b"\xf3\x01 no words of the adapter\n"

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="wm-")
        folder = Path(self._folder.name)
        self.address = f"practice:{folder}"
        self._held = hold_folder(folder)
        self._lock = threading.RLock()
        self._bus = Bus()
        self._bus.awake = True
        self.adapter = SerialAdapter(self._bus, lambda: True)
        self._bus.ears += [self, self.adapter]
        self._end = PtyEnd(folder / "port", self.adapter.power_up)
        # Not a SimpleQueue: a signal as its time ends makes that one wait for ever.
        self._heard: queue.Queue[Frame] = queue.Queue()
        self._clock = SystemClock()
        origin = self._clock.stamp()
        self._origin_ns = origin.mono_ns
        document = TruckFile(
            port=(folder / "port").name,
            hands="none",
            rate=1,
            origin_wall_ns=origin.wall_ns,
            origin_mono_ns=origin.mono_ns,
            origin_boot_ns=origin.boot_ns,
            profile="witnessmark_practice:profile.toml",
            pid=os.getpid(),
        )
        write_truck_file(folder, document)
        self._wakened, self._wake = os.pipe()
        self._over = False
        self._thread = threading.Thread(target=self._live, name="contract aside", daemon=True)
        self._thread.start()

    def hear(self, frame: BusFrame) -> None:
        self._heard.put(Frame(frame.can_id, frame.data, self._clock.stamp(), extended=frame.extended))

    def say(self, frames: Sequence[Frame]) -> None:
        if any(frame.kind == "remote" for frame in frames):
            raise NotPossible("the practice adapter does not report remote frames")
        for frame in frames:
            self._make_room()
            with self._lock:
                self._bus.put(self, BusFrame(frame.can_id, frame.data, frame.extended, self._now_s()))
                self._flush()

    def heard(self, count: int, wait_s: float) -> Sequence[Frame]:
        end_ns = self._clock.mono_ns() + round(wait_s * NS)
        found: list[Frame] = []
        while len(found) < count:
            try:
                found.append(self._heard.get(timeout=max(0.0, (end_ns - self._clock.mono_ns()) / NS)))
            except queue.Empty:
                break
        return found

    def spell(self, frame: Frame) -> bytes:
        with self._lock:
            self.adapter.hear(BusFrame(frame.can_id, frame.data, frame.extended, self._now_s()))
            spelt = bytes(self.adapter.out)
            self.adapter.out.clear()
        return spelt

    def write(self, raw: bytes) -> None:
        with self._lock:
            self._end.write(raw)

    def unplug(self) -> None:
        with self._lock:
            self._end.unplug()

    def close(self) -> None:
        if not self._over:
            self._over = True
            os.write(self._wake, b"!")
            self._thread.join(10)
            self.unplug()
            os.close(self._wake)
            os.close(self._wakened)
            self._held.close()
            self._folder.cleanup()

    def _live(self) -> None:
        while not self._over:
            with self._lock:
                fds = self._end.fds()
                writers = fds if self._end.waiting() else []
            try:
                ready, _, _ = select.select([self._wakened, *fds], writers, [], 0.02)
            except OSError:  # unplugged meanwhile
                continue
            with self._lock:
                if set(ready) & set(self._end.fds()):
                    self.adapter.take(self._end.read(), self._now_s())
                self._flush()

    def _flush(self) -> None:
        out = bytes(self.adapter.out)
        self.adapter.out.clear()
        self._end.write(out)

    def _make_room(self) -> None:
        while True:
            with self._lock:
                if self._end.waiting() < MOST_WAITING:
                    return
            select.select([], [], [], 0.002)

    def _now_s(self) -> float:
        return (self._clock.mono_ns() - self._origin_ns) / NS

"""A practice truck in its own process, for tests: started, waited for, ended."""

from __future__ import annotations

import contextlib
import json
import select
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from witnessmark.clock import PracticeClock, SystemClock
from witnessmark_practice import PracticeWorkshop

RATE = 8


class TruckProcess:
    """`workshop` has the hands, `clock` is the truck's."""

    def __init__(self, folder: Path, *options: str, rate: int = RATE) -> None:
        self.folder = folder
        command = [sys.executable, "-m", "witnessmark_practice", str(folder), "--rate", str(rate), *options]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        assert self.process.stdout is not None
        self.process.stdout.readline()
        self._wait_for_file()
        self.workshop = PracticeWorkshop(folder)
        self.clock = PracticeClock(self.workshop.rate, self.workshop.origin)

    def ready(self) -> None:
        """Make the truck ready for a run."""
        for act in ("wake", "supply", "fit-feed", "pressurise"):
            self.workshop.do(act)

    def truth(self) -> dict[str, Any]:
        record: dict[str, Any] = json.loads(self.workshop.do("truth"))
        return record

    def end(self) -> int:
        """Ask it to end, and return its exit code."""
        self.workshop.close()
        self.process.send_signal(signal.SIGTERM)
        _, errors = self.process.communicate(timeout=20)
        assert errors == b"", errors.decode()
        return self.process.returncode

    def _wait_for_file(self) -> None:
        deadline_ns = SystemClock().mono_ns() + 20_000_000_000
        while not (self.folder / "truck.json").exists():
            assert self.process.poll() is None and SystemClock().mono_ns() < deadline_ns
            select.select([], [], [], 0.01)


@contextlib.contextmanager
def running(folder: Path, *options: str, rate: int = RATE) -> Iterator[TruckProcess]:
    """Run a truck; it must end clean."""
    truck = TruckProcess(folder, *options, rate=rate)
    try:
        yield truck
    finally:
        assert truck.end() == 0

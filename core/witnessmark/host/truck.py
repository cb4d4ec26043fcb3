"""A practice vehicle in a process of its own, started and ended here."""

from __future__ import annotations

import contextlib
import select
import signal
import subprocess
import sys
from pathlib import Path
from types import TracebackType

from witnessmark.clock import NS, PracticeClock, SystemClock
from witnessmark.errors import InputError, LocalError
from witnessmark.hookspecs import Practice
from witnessmark.host import plugins

START_S, END_S = 30.0, 10.0


class Truck:
    """A running practice vehicle in `folder`: its link's `address`, the `workshop` around it, the `clock` it lives by.

    Raises LocalError, with what it printed, when it does not start.
    """

    def __init__(self, folder: Path, rate: int, *options: str) -> None:
        self.folder = folder
        self.address = f"practice:{folder}"
        command = [sys.executable, "-m", "witnessmark_practice", str(folder), "--rate", str(rate), *options]
        command.append("--with-parent")
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
        )
        try:
            self.workshop = self._wait()
        except BaseException:
            self.end()
            raise
        self.clock = PracticeClock(self.workshop.rate, self.workshop.origin)

    def end(self) -> None:
        """End it and wait until it has; again is harmless."""
        close = getattr(getattr(self, "workshop", None), "close", None)
        if close is not None:
            close()
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGTERM)
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(END_S)
        if self._process.poll() is None:
            self._process.kill()
            self._process.wait()
        for end in (self._process.stdin, self._process.stdout):
            if end is not None:
                end.close()

    def _wait(self) -> Practice:
        end_ns = SystemClock().mono_ns() + round(START_S * NS)
        while SystemClock().mono_ns() < end_ns and self._process.poll() is None:
            with contextlib.suppress(InputError, LocalError):
                workshop = plugins.practice(self.address)
                if workshop is not None:
                    return workshop
            select.select([], [], [], 0.02)
        said = ""
        if self._process.poll() is not None and self._process.stdout is not None:
            said = self._process.stdout.read().decode(errors="replace").strip()
        raise LocalError(f"the practice vehicle does not start: {said or 'it says nothing'}", hint="try another folder")

    def __enter__(self) -> Truck:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

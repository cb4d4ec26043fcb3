"""A face's hold on its runner: spawns it, sends commands and stop, hears views; sees at once when it is gone.

Commands flow in, messages of the runner flow out (both told in `job.face_line`). Rules that hold here: stop is one byte
and overtakes nothing that it should not; end of file while something was live is `unknown`, with the next physical
act; closing the handle ends the runner, which stops what runs first; the runner has a session of its own, so that no
key of a terminal (suspend, quit) reaches it past the face.
"""

from __future__ import annotations

import contextlib
import select
import signal
import socket
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Any

import msgspec

from witnessmark.clock import NS, SystemClock
from witnessmark.errors import LocalError
from witnessmark.job.face_line import STOP
from witnessmark.job.view import UNKNOWN_ACT
from witnessmark.people.person import Person

LIVE = {"recording", "withdrawing", "session", "counting", "start sent", "running", "stop sent"}
LOG = ".runner.log"
"""Beside the journal: what a runner that failed had to say."""
LEAVE_S = 60.0


class RunnerHandle:
    """One runner process. `gone` once it has ended; `live` while an actuation of it may be on the wire."""

    def __init__(self, process: subprocess.Popen[bytes], ours: socket.socket) -> None:
        self.process = process
        self.gone = False
        self.live = False
        self.refused = False
        self._socket = ours
        self._parted = False
        self._partial = b""

    @classmethod
    def spawn(
        cls, journal: Path, job: str, person: Person, *, link: str = "", grade: str = "", who: str = "job run"
    ) -> RunnerHandle:
        """Start a runner for `job`; it holds the journal's lock until it ends.

        What keeps it from beginning (a lock, a job that is not there) comes as the first message, an error with
        `fatal`. `grade` is how runs are witnessed, as the job says when empty. Raises LocalError when no process can be
        started.
        """
        ours, theirs = socket.socketpair()
        words = ["--fd", str(theirs.fileno()), "--journal", str(journal), "--job", job, "--link", link]
        words += ["--person", person.id, "--role", person.role, "--who", who]
        words += ["--grade", grade] if grade else []
        command = [sys.executable, "-m", "witnessmark.host.runner_process", *words]
        log = journal.with_name(journal.name + LOG)
        try:
            with log.open("ab") as errors:
                process = subprocess.Popen(
                    command, pass_fds=[theirs.fileno()], stdin=subprocess.DEVNULL, stdout=errors, stderr=errors,
                    start_new_session=True,
                )  # fmt: skip
        except OSError as error:
            ours.close()
            raise LocalError(f"no runner can be started: {error}", hint="check the journal's folder") from error
        finally:
            theirs.close()
        return cls(process, ours)

    def fileno(self) -> int:
        """Readable when `receive` has something."""
        return self._socket.fileno()

    def send(self, command: dict[str, Any]) -> None:
        """Send one command. A runner that is gone is told by `receive`."""
        with contextlib.suppress(OSError):
            self._socket.sendall(msgspec.json.encode(command) + b"\n")

    def stop(self) -> None:
        """Send stop: one byte, served before all else."""
        with contextlib.suppress(OSError):
            self._socket.sendall(STOP)

    def receive(self, wait_s: float = 0.0) -> list[dict[str, Any]]:
        """Return what the runner said, after at most `wait_s` real seconds; at its end, that it is gone, once."""
        if self.gone or not select.select([self._socket], [], [], wait_s)[0]:
            return []
        try:
            data = self._socket.recv(1 << 20)
        except OSError:
            data = b""
        *lines, self._partial = (self._partial + data).split(b"\n")
        messages = [msgspec.json.decode(line, type=dict[str, Any]) for line in lines if line]
        for message in messages:
            self._note(message)
        return messages if data else [*messages, *self._ended()]

    def part(self) -> None:
        """Tell the runner to end, having stopped what runs; go on with `receive` until it is `gone`."""
        self._parted = True
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_WR)

    def close(self, within_s: float = LEAVE_S) -> int:
        """Part from the runner and wait for it to end, having stopped what ran. Return its exit code."""
        self.part()
        end_ns = SystemClock().mono_ns() + round(within_s * NS)
        while not self.gone and SystemClock().mono_ns() < end_ns:
            self.receive(0.1)
        self._socket.close()
        try:
            return self.process.wait(max(0.1, (end_ns - SystemClock().mono_ns()) / NS))
        except subprocess.TimeoutExpired:
            self.process.send_signal(signal.SIGTERM)
            raise LocalError(
                "the runner does not end", hint=f"{UNKNOWN_ACT} It was told to end (process {self.process.pid})"
            ) from None

    def __enter__(self) -> RunnerHandle:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _note(self, message: dict[str, Any]) -> None:
        run = message.get("run")
        if isinstance(run, dict):
            self.live = run.get("state") in LIVE
        error = message.get("error")
        if isinstance(error, dict) and error.get("fatal"):
            self.refused = True

    def _ended(self) -> list[dict[str, Any]]:
        self.gone = True
        if self.live:
            self.live = False
            unknown = {"state": "unknown", "result": "unknown"}
            said = {"what": "the runner is gone while an actuation was live", "hint": UNKNOWN_ACT, "reached": "maybe"}
            return [{"run": unknown}, {"error": {**said, "fatal": True}}]
        if self.refused or self._parted:
            return []
        said = {"what": "the runner has ended", "hint": "run the job again", "reached": "nothing"}
        return [{"error": {**said, "fatal": True}}]

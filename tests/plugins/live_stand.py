"""The stand of the job tests with a real adapter, a real journal and its thread, in real time."""

from __future__ import annotations

import json
import socket
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.job.stand import BOOT, LEAD, MAP, PROCEDURE, TECHNICIAN, Stand
from tests.plugins.wires import Wire

from witnessmark.clock import NS, SystemClock
from witnessmark.host.plugins import open_link
from witnessmark.job.allowed.approval import approve
from witnessmark.job.journal_thread import JournalThread
from witnessmark.job.runner import Runner
from witnessmark.job.walk.fold import fold
from witnessmark.journal import bodies
from witnessmark.journal.check import check
from witnessmark.journal.entry import Draft, Entry
from witnessmark.journal.store import Journal
from witnessmark.mapping import load as maps
from witnessmark.procedure import load as procedures

SHORT = PROCEDURE.replace('seconds = "8 s"', 'seconds = "1 s"')


class LiveStand(Stand):
    """One runner on one wire."""

    def __init__(self, folder: Path, wire: Wire) -> None:
        self.wire = wire
        self.path = folder / "journal.db"
        self.real = SystemClock()
        self.disk = Journal.create(self.path, "bay.tests.invalid", self.real)
        commands = [{**one, "budget_ms": 300} for one in MAP["wire_commands"]]
        timing = {"p2_star_ms": 500}
        self.document = {**MAP, "address": wire.address_of_unit, "wire_commands": commands, "timing": timing}
        known, plan = maps.from_document(self.document), procedures.from_document(tomllib.loads(SHORT))
        opened = bodies.JobOpened(
            title=plan.title,
            vehicle={"what": "invented truck"},
            procedure=procedures.to_document(plan),
            procedure_digest=procedures.digest(plan),
            map=maps.to_document(known),
            map_digest=maps.digest(known),
            plan=tuple(one.id for one in plan.passes),
            invented=True,
        )
        self.disk.append(Draft("job-opened", "J1", TECHNICIAN.actor, body=bodies.to_body(opened)))
        self.disk.append(approve(LEAD, known))
        self.start_runner()

    def start_runner(self) -> None:
        self.face, self.theirs = socket.socketpair()
        self.face.setblocking(False)
        self.on_disk = JournalThread(self.disk)
        self.told: list[dict[str, Any]] = []
        self._partial = b""
        self.runner = Runner(
            lambda: open_link(self.wire.address, self.real),
            self.on_disk,
            self.real,
            state=fold(self.entries()),
            approvals=lambda: list(self.disk.entries(kind="approval")),
            person=TECHNICIAN,
            face=self.theirs,
            boot_id=BOOT,
        )
        self.runner.take_up()
        self.until(lambda: self.view)

    def turn(self, count: int = 3) -> None:
        for _ in range(count):
            self.runner.turn()
            try:
                self._partial += self.face.recv(1 << 20)
            except BlockingIOError:
                continue
            *lines, self._partial = self._partial.split(b"\n")
            self.told += [json.loads(line) for line in lines]

    def until(self, done: Any, seconds: float = 30) -> None:
        end_ns = self.real.mono_ns() + round(seconds * NS)
        while not done():
            assert self.real.mono_ns() < end_ns, f"never: view {self.view}, told {self.told[-5:]}"
            self.turn(1)

    def wait(self, seconds: float) -> None:
        end_ns = self.real.mono_ns() + round(seconds * NS)
        while self.real.mono_ns() < end_ns:
            self.turn(1)

    def close(self) -> None:
        """End the runner as its process would, so that all of it is on disk."""
        self.runner.leave("the test is over")
        self.until(self.runner.over)
        self.runner._hearing.close()
        self.on_disk.close()
        self.face.close()
        self.theirs.close()

    def entries(self) -> list[Entry]:
        with Journal.open(self.path, self.real) as beside:
            return list(beside.entries("J1"))

    def kinds(self) -> list[str]:
        return [one.kind for one in self.entries()]

    def bodies(self, kind: str) -> list[Any]:
        return [bodies.from_body(kind, one.body) for one in self.entries() if one.kind == kind]


@contextmanager
def standing(folder: Path, wire: Wire) -> Iterator[LiveStand]:
    """Run one; whatever came of it, its journal holds afterwards."""
    try:
        stand = LiveStand(folder, wire)
        try:
            yield stand
        finally:
            stand.close()
            stand.disk.close()
    finally:
        wire.close()
    report = check(stand.path, stand.real)
    assert report.verdict in ("intact", "consistent, unanchored"), report

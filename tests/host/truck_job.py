"""A job on the practice truck through the real processes: truck, runner, journal on disk; and hands that do it.

`Technician` answers each view as a person would who does the work, on the truck itself.
"""

from __future__ import annotations

import json
import select
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

from tests.plugins.practice.truck_process import TruckProcess

from witnessmark.clock import NS, SystemClock
from witnessmark.host.face import RunnerHandle
from witnessmark.host.opening import open_job
from witnessmark.host.rehearsal import AT_THE_RESERVOIR, offered
from witnessmark.job.allowed.approval import approve
from witnessmark.journal.store import Journal
from witnessmark.mapping.load import load as load_map
from witnessmark.people.person import Person
from witnessmark.procedure.load import load as load_procedure

LEAD, TECHNICIAN = Person("l-heron", "lead"), Person("t-otter")
MOST_REST_S = 21
S3_S = 6.0
"""After this the truck's unit has surely lost its session, and with it the run."""
DATA = Path(str(resources.files("witnessmark_practice") / "data"))


def open_truck_job(
    folder: Path, truck: TruckProcess, *, passes: str = "", approved: bool = True
) -> tuple[Path, str, str]:
    """Make a journal with one job for the truck, at rest; return its path, the job and the link's address."""
    for act, item in (("fault", "none"), ("depressurise", ""), ("close", "rear-left")):
        truck.workshop.do(act, item)
    _let_the_pump_rest(truck)
    path, link = folder / "journal.db", f"practice:{truck.folder}"
    protocol_map = load_map(DATA / "map.json")
    with Journal.create(path, "bay.tests.invalid", truck.clock) as journal:
        if approved:
            journal.append(approve(LEAD, protocol_map))
        job = open_job(
            journal,
            load_procedure(DATA / "procedure.toml"),
            protocol_map,
            by=TECHNICIAN,
            link=link,
            vehicle={"what": "practice truck"},
            scope=f"follows none {passes}" if passes else "full",
            now_ns=truck.clock.stamp().wall_ns,
        )
    return path, job, link


def _let_the_pump_rest(truck: TruckProcess) -> None:
    """Wait until a run of an earlier job has ended and its motor has rested."""
    while True:
        last = (truth_runs(truck) or [{"end_mono_ns": "0"}])[-1]
        end_ns = last.get("end_mono_ns")
        if end_ns is not None and truck.clock.mono_ns() > int(end_ns) + MOST_REST_S * NS:
            return
        select.select([], [], [], 0.05)


class Technician:
    """Does what the views ask, with the hands of the truck. `told` holds every message of the runner."""

    def __init__(self, handle: RunnerHandle, truck: TruckProcess) -> None:
        self.handle = handle
        self.truck = truck
        self.view: dict[str, Any] = {}
        self.run: dict[str, Any] = {}
        self.told: list[dict[str, Any]] = []
        self._answered = ""

    @property
    def errors(self) -> list[dict[str, Any]]:
        return [one["error"] for one in self.told if "error" in one]

    def hear(self, wait_s: float = 0.05) -> None:
        for message in self.handle.receive(wait_s):
            self.told.append(message)
            if "view" in message:
                self.view = message["view"]
            elif "run" in message:
                self.run = message["run"]
            elif message.get("cue") == 0:
                self.truck.workshop.on_cue(self.view)

    def work_until(self, done: Callable[[], object], within_s: float = 60) -> None:
        """Go on with the job until `done`. Fails after so many real seconds."""
        end_ns = SystemClock().mono_ns() + round(within_s * NS)
        while not done():
            assert SystemClock().mono_ns() < end_ns and not self.handle.gone, (self.view, self.told[-6:])
            self.hear()
            if not done():
                self._answer()

    def wait_until(self, done: Callable[[], object], within_s: float = 30) -> None:
        """Only listen until `done`."""
        end_ns = SystemClock().mono_ns() + round(within_s * NS)
        while not done():
            assert SystemClock().mono_ns() < end_ns, (self.view, self.told[-6:])
            self.hear()

    def listen_for(self, seconds: float) -> None:
        """Only listen, for so many real seconds."""
        end_ns = SystemClock().mono_ns() + round(seconds * NS)
        while (left_ns := end_ns - SystemClock().mono_ns()) > 0:
            self.hear(left_ns / NS)

    def key(self, key: str, said: str = "") -> None:
        self.handle.send({"do": "key", "view": self.view["id"], "key": key, "said": said})
        self._answered = self.view["id"]

    def _answer(self) -> None:
        view = self.view
        if not view or view["id"] == self._answered or view["kind"] in ("busy", "running"):
            return
        self._answered = view["id"]
        seen = self.truck.workshop.prepare(view)
        command: dict[str, Any] = {"view": view["id"]}
        if any(one["key"] == "k" for one in view.get("buttons", ())) and (
            view["kind"] == "reading" or view.get("step") == "bottle"
        ):
            command |= {"do": "key", "key": "k", "said": "kept as it is"}
        elif view["kind"] == "reading" and seen.startswith("too high"):
            command |= {"do": "key", "key": "l"}
        elif view["kind"] == "reading":
            value, _, unit = seen.partition(" ")
            command |= {"do": "reading", "value": value, "unit": unit or view["unit"]}
        elif view["kind"] == "arm":
            self._rest(float(view.get("wait_s", "0")))
            command |= {"do": "answers", "answers": {one["id"]: True for one in view["questions"]}}
        elif view["kind"] == "armed":
            command |= {"do": "start"}
        else:
            if view["kind"] == "inspect":
                self._rest(S3_S)  # looks until the pump is heard to stand still
            keys = {"inspect": "1", "decide": "r", "paused": "r", "done": "f"}
            command |= {
                "do": "key",
                "key": keys.get(view["kind"]) or offered(view, "y", *AT_THE_RESERVOIR, "2"),
                "said": seen or "DOT 4, class 4",
            }
        self.truck.workshop.follow(view, command)
        self.handle.send(command)

    def _rest(self, seconds: float) -> None:
        end_ns = self.truck.clock.mono_ns() + round((seconds + 0.2) * NS)
        while self.truck.clock.mono_ns() < end_ns:
            self.hear(0.02)


def truth_runs(truck: TruckProcess) -> list[dict[str, Any]]:
    """Return the runs as the truck itself knows them."""
    record: dict[str, Any] = json.loads(truck.workshop.do("truth"))
    runs: list[dict[str, Any]] = record["runs"]
    return runs

"""A whole job whose runner is killed again and again: at every kind of write, and at random moments of its runs.

Truck, runner and journal are the real processes. Rules held after each kill: nothing acknowledged is lost, the journal
verifies, the truck never ran more often than the journal says it was about to; and the next runner asks for an
inspection before anything else where a run has no outcome, and goes on.
"""

from __future__ import annotations

import random
import signal
import socket
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from tests.fault.dying_runner import FULL, WHENS
from tests.host.truck_job import TECHNICIAN, Technician, open_truck_job, truth_runs
from tests.plugins.practice.truck_process import TruckProcess, running
from witnessmark.host.face import RunnerHandle
from witnessmark.journal import entry as entries
from witnessmark.journal.check import check
from witnessmark.journal.entry import Entry
from witnessmark.journal.store import Journal

KINDS = (
    "step", "reading", "condition", "armed", "exchange", "intent", "keepalive", "outcome", "interrupted", "inspection",
    "state",
)  # fmt: skip
"""The kinds that a runner writes in a job that goes as it should but for the kills."""
POINTS = tuple(f"{kind} {when}" for kind in KINDS for when in WHENS)
ROOT = Path(__file__).resolve().parents[2]
DONE = "The job is finished."
LONGEST_S = 2.2
"""A run of 12 s lasts 1.5 s at eight times; with it what comes before and after."""


@dataclass
class Work:
    """One job on the truck, and what has come of it so far. `runs` are those of the truck before it."""

    path: Path
    job: str
    link: str
    truck: TruckProcess
    runs: int
    figures: Counter[str] = field(default_factory=Counter)

    @property
    def acks_path(self) -> Path:
        return self.path.with_name("acks")

    @contextmanager
    def hands(self, fault: str = "", *more: str) -> Iterator[Technician]:
        """Spawn a runner with a fault, as a face would; what is left of it is ended afterwards."""
        ours, theirs = socket.socketpair()
        words = ["--acks", str(self.acks_path), "--fault", fault, *more, "--fd", str(theirs.fileno())]
        words += ["--journal", str(self.path), "--job", self.job, "--link", self.link, "--person", TECHNICIAN.id]
        log = self.path.with_name("runner.log")
        with log.open("ab") as errors:
            process = subprocess.Popen(
                [sys.executable, "-m", "tests.fault.dying_runner", *words],
                cwd=ROOT, pass_fds=[theirs.fileno()], stdin=subprocess.DEVNULL, stdout=errors, stderr=errors,
            )  # fmt: skip
        theirs.close()
        with RunnerHandle(process, ours) as handle:
            yield Technician(handle, self.truck)

    def entries(self) -> list[Entry]:
        with Journal.open(self.path, self.truck.clock) as journal:
            return list(journal.entries(self.job))

    def finished(self) -> bool:
        return any(one.kind == "state" and one.body["state"] == "finished" for one in self.entries())

    def hold(self) -> None:
        """Hold what must be true after a kill, whatever was going on."""
        report = check(self.path, self.truck.clock)
        assert report.verdict == "consistent, unanchored", report
        with Journal.open(self.path, self.truck.clock) as journal:
            leaves = {one.seq: entries.leaf(one).hex() for one in journal.entries()}
        told = [line.split() for line in self.acks_path.read_text().splitlines()]
        lost = [seq for seq, leaf in told if leaves.get(int(seq)) != leaf]
        assert lost == [], f"acknowledged and lost: {lost}"
        intents = sum(one.kind == "intent" for one in self.entries())
        ran = len(truth_runs(self.truck)) - self.runs
        assert ran <= intents, f"the truck ran {ran} times, the journal was about to {intents} times"
        self.figures["kills"] += 1
        self.figures["acknowledged"] = len(told)

    def owes_inspection(self) -> bool:
        """Whether a run has no outcome, or one that nobody knows, and nobody has looked yet."""
        waiting: set[int] = set()
        for one in self.entries():
            known = one.kind == "outcome" and one.body["result"] != "unknown"
            if one.kind == "intent":
                waiting.add(one.seq)
            elif known or (one.kind == "inspection" and one.body["safe"]):
                waiting.discard(one.body["actuation"])
        return bool(waiting)

    def first_view(self, hands: Technician, owed: bool) -> None:
        """Wait for the first view after a kill, and hold that it is the inspection where one is owed."""
        hands.wait_until(lambda: hands.view or hands.handle.gone)
        if owed and not hands.handle.gone:
            assert hands.view["kind"] == "inspect", hands.view
            self.figures["inspections asked"] += 1


def open_work(folder: Path, truck: TruckProcess, passes: str = "p2") -> Work:
    folder.mkdir(parents=True, exist_ok=True)
    path, job, link = open_truck_job(folder, truck, passes=passes)
    (folder / "acks").touch()
    return Work(path, job, link, truck, len(truth_runs(truck)))


def kill_at(work: Work, point: str) -> bool:
    """Let a runner work until it dies at `point`, and hold; False when the job was finished without passing it."""
    owed = work.owes_inspection()
    with work.hands(point) as hands:
        work.first_view(hands, owed)
        hands.work_until(lambda: hands.handle.gone or hands.view.get("title") == DONE, 120)
        if not hands.handle.gone:
            return False
        assert hands.handle.process.wait(20) == -signal.SIGKILL, work.path.with_name("runner.log").read_text()
    work.hold()
    return True


def kill_in_a_run(work: Work, after_s: float) -> bool:
    """Let a runner work up to a start, start, kill it so many real seconds later, and hold.

    False when the last run was not killed in time, so that there was none left to start.
    """
    owed = work.owes_inspection()
    with work.hands() as hands:
        work.first_view(hands, owed)
        hands.work_until(lambda: hands.view.get("kind") == "armed" or hands.view.get("title") == DONE, 120)
        if hands.view["kind"] != "armed":
            return False
        hands.handle.send({"do": "start", "view": hands.view["id"]})
        hands.listen_for(after_s)
        work.figures[f"killed when {hands.run.get('state') or 'intent or preflight'}"] += 1
        hands.handle.process.kill()
        hands.wait_until(lambda: hands.handle.gone)
    work.hold()
    return True


def finish(work: Work) -> None:
    """Let a runner that lives go on to the end, and hold what the whole job then shows."""
    owed = work.owes_inspection()
    with work.hands() as hands:
        work.first_view(hands, owed)
        hands.work_until(lambda: hands.view.get("title") == DONE, 120)
    work.hold()
    work.figures["kills"] -= 1
    made = work.entries()
    assert not work.owes_inspection() and work.finished()
    assert [one.body["result"] for one in made if one.kind == "outcome"][-1] == "completed"


def fill_disk_at(work: Work, kind: str) -> list[dict[str, object]]:
    """Let the disk be full from the first entry of `kind` on; return the errors that the face was told."""
    before = len(truth_runs(work.truck))
    with work.hands(f"{kind} {FULL}") as hands:
        hands.work_until(lambda: hands.errors or hands.handle.gone, 120)
        hands.listen_for(0.3)
        errors = [*hands.errors]
    if kind in ("armed", "intent"):
        assert len(truth_runs(work.truck)) == before, "it ran, and could not be recorded"
    work.hold()
    work.figures["kills"] -= 1
    return errors


def run(count: int, seed: int = 1) -> Iterator[str]:
    """Kill at every write point once, then at `count` random moments of runs; yield the figures, a line each."""
    numbers = random.Random(seed)
    with tempfile.TemporaryDirectory() as place, running(Path(place) / "yard") as truck:
        folders = (Path(place) / f"job{number}" for number in range(len(POINTS) + count + 1))
        yield _write_points(folders, truck)
        yield _random_moments(folders, truck, [numbers.uniform(0, LONGEST_S) for _ in range(count)])


def _write_points(folders: Iterator[Path], truck: TruckProcess) -> str:
    total: Counter[str] = Counter()
    work = open_work(next(folders), truck)
    for point in POINTS:
        while not kill_at(work, point):
            total += work.figures
            work = open_work(next(folders), truck)
            if point.startswith(("interrupted", "inspection")):
                kill_in_a_run(work, 0.8)  # what these are about
    finish(work)
    total += work.figures
    return f"{len(POINTS)} write points: {_said(total)}; points: {', '.join(KINDS)}, each {' / '.join(WHENS)}"


def _random_moments(folders: Iterator[Path], truck: TruckProcess, moments: list[float]) -> str:
    total: Counter[str] = Counter()
    for begin in range(0, len(moments), 25):
        work = open_work(next(folders), truck)
        for moment in moments[begin : begin + 25]:
            while not kill_in_a_run(work, moment):
                total += work.figures
                work = open_work(next(folders), truck)
        finish(work)
        total += work.figures
    return f"{len(moments)} random moments of runs: {_said(total)}"


def _said(total: Counter[str]) -> str:
    words = {"acknowledged": "entries acknowledged"}
    told = ", ".join(f"{count} {words.get(what, what)}" for what, count in total.items())
    return f"{told}; none lost, every journal verifies, each job went on to its end"

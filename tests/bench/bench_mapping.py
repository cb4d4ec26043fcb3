"""Learning a vehicle: how long a probe takes against what the truck and the standard need, whether every run that was
heard is found, and how long an hour of a full bus takes to learn from.

The truck answers at its own pace over its adapter, at rate 1. What it and the adapter need is measured by asking the
same requests again one by one with nothing around them.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.bench.captures import sparse
from tests.mapping.recorded_truck import ORIGIN, thirty_runs
from tests.plugins.practice.truck_process import TruckProcess, running
from witnessmark.host.learning import FLOOR_REAL_S
from witnessmark.host.speaking import conversation
from witnessmark.link.frame import Peer
from witnessmark.mapping.listen import listen
from witnessmark.mapping.peers import parse_peers, standard_peers
from witnessmark.mapping.probe import Probe, ProbePlan
from witnessmark.mapping.probe_log import ProbeLog
from witnessmark.mapping.reader import Reader
from witnessmark.mapping.standstill import Standstill
from witnessmark.recording.file import open_recording
from witnessmark.recording.reading import read_recording
from witnessmark.wire.uds.timing import P2_S

Row = dict[str, object]
FRAMES_A_SECOND, HOUR_S = 4000, 3600
"""A full bus at 500 kbit/s."""
BLOCK = 400_000


def run() -> list[Row]:
    """Return every figure."""
    return [*probe_rows(), *run_rows(), *hour_rows()]


def probe_rows() -> list[Row]:
    """Probe eight addresses, 256 identifiers where somebody answers, among them the truck's own."""
    with tempfile.TemporaryDirectory() as folder, running(Path(folder) / "yard", rate=1) as truck:
        truck.workshop.do("wake")
        plan = ProbePlan((*standard_peers()[:7], *parse_peers("6B3:6BB")), identifiers=((0x7000, 0x70DF),))
        log = ProbeLog.open(Path(folder) / "log", str(plan), "practice:yard")
        with conversation(f"practice:{truck.folder}", floor_real_s=FLOOR_REAL_S) as talk:
            probe = Probe(plan, Reader(talk, log), Standstill(None, lambda question: True))
            start = time.perf_counter()
            probe.run()
            took_s = time.perf_counter() - start
        log.close()
        silent = [line for line in log.lines if not line.answers]
        answered = [line for line in log.lines if line.answers]
        own_s = _own_answer_time_s(truck, [bytes.fromhex(line.request) for line in answered if not line.functional])
    needed_s = own_s + P2_S * (len(silent) + sum(line.functional for line in answered))
    note = f"{len(log.lines)} requests, {len(silent)} silent; the truck and its adapter alone {own_s:.2f} s"
    return [
        {"name": "probe of 8 addresses", "value": round(took_s, 2), "unit": "s", "note": note},
        {"name": "against what truck and standard need", "value": round(took_s / needed_s, 2), "unit": "x",
         "note": f"wanted: at most 1.2; P2 {P2_S * 1000:.0f} ms for each silence"},
    ]  # fmt: skip


def _own_answer_time_s(truck: TruckProcess, requests: list[bytes]) -> float:
    """Ask each of `requests` once more, bare, and return how long that took."""
    unit = Peer(0x6B3, 0x6BB)
    with conversation(f"practice:{truck.folder}", floor_real_s=FLOOR_REAL_S) as talk:
        start = time.perf_counter()
        for request in requests:
            talk.ask(unit, request)
        return time.perf_counter() - start


def run_rows() -> list[Row]:
    """Find 30 runs among ordinary traffic."""
    bay = thirty_runs()
    true = sorted((run.start_s, (run.end_s or 0.0) - run.start_s) for run in bay.truck.unit.actuator.runs)
    with tempfile.TemporaryDirectory() as folder:
        path = bay.write(Path(folder) / "bay.log")
        (unit,) = listen(read_recording(open_recording(path)), path.name).vehicle("truck", "truck").units
    found = sorted(
        ((int(one.start_ns) - ORIGIN.wall_ns) / 1e9, (one.ms or 0) / 1000)
        for candidate in unit.candidates
        for one in candidate.runs
    )
    matched = [(a, b) for a in true for b in found if abs(a[0] - b[0]) < 0.1]
    worst_s = max(abs(a[1] - b[1]) for a, b in matched)
    frames = bay.text.count("\n")
    return [
        {"name": "runs found", "value": len(matched), "unit": f"of {len(true)}", "note": f"among {frames} frames"},
        {"name": "runs invented", "value": len(found) - len(matched), "unit": "", "note": "wanted: none"},
        {"name": "worst difference in length", "value": round(worst_s, 3), "unit": "s", "note": "wanted: within 0.1"},
    ]


def hour_rows() -> list[Row]:
    """Learn from a generated hour of a full bus, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "hour.log"
        with path.open("wb") as file:
            file.writelines(_hour())
        size = path.stat().st_size
        done = subprocess.run([sys.executable, "-c", _LEARN, str(path)], capture_output=True, text=True, check=True)
    told: dict[str, Any] = json.loads(done.stdout)
    frames = FRAMES_A_SECOND * HOUR_S
    note = f"{frames} frames, {size / 1e6:.0f} MB of text, {told['requests']} requests to {told['units']} units"
    return [
        {"name": "learning from an hour of a full bus", "value": round(told["s"], 1), "unit": "s",
         "note": f"wanted: under 60; {note}"},
        {"name": "most memory of its own", "value": round(told["own_mb"]), "unit": "MB",
         "note": "wanted: under 500; sampled every 50 ms"},
        {"name": "most memory in all", "value": round(told["mb"]), "unit": "MB",
         "note": "wanted: under 500; with pages of the mapped file"},
    ]  # fmt: skip


_LEARN = """
import json, sys, threading, time
from pathlib import Path
from witnessmark.host.learning import learn_recording
from witnessmark.recording.file import open_recording

def mb(name):
    status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
    return int(status[name].split()[0]) / 1024

own = [0.0]
def watch():
    while True:
        own[0] = max(own[0], mb("RssAnon"))
        time.sleep(0.05)

threading.Thread(target=watch, daemon=True).start()
start = time.perf_counter()
vehicle = learn_recording(open_recording(Path(sys.argv[1]))).vehicle("truck", "truck")
took = time.perf_counter() - start
print(json.dumps({"s": took, "mb": mb("VmHWM"), "own_mb": own[0], "units": len(vehicle.units),
                  "requests": sum(s.asked for u in vehicle.units for s in u.services)}))
"""


def _hour() -> Iterator[bytes]:
    """Yield the lines of one generated block again and again, each time later, until the hour is full."""
    bodies = [line.partition(b") ")[2] for line in sparse(BLOCK).text.splitlines(keepends=True)]
    step_us = 1_000_000 // FRAMES_A_SECOND
    for number in range(FRAMES_A_SECOND * HOUR_S):
        us = 1_700_000_000_000_000 + number * step_us
        yield b"(%d.%06d) %s" % (us // 1_000_000, us % 1_000_000, bodies[number % len(bodies)])

"""Record the jobs anew: `python -m tests.recordings_demo.make [NAME ...]`. Each takes about a minute at 8x.

A folder of `recordings_demo/` holds `bus.log.gz` (every frame on the bus, candump text), `evidence.json`, `note.md` and
`expected.json` (the answer to every question). What is expected is written from the audit, so look at it before you
commit it: `jobs.not_met` is what must come out.
"""

from __future__ import annotations

import gzip
import json
import os
import sys
import tempfile
from pathlib import Path

from tests.recordings_demo.jobs import JOBS, Recorded
from tests.rules.source import ROOT
from witnessmark.cli.demo import open_truck_job
from witnessmark.host.auditing import audit_evidence
from witnessmark.host.face import RunnerHandle
from witnessmark.host.rehearsal import Rehearsal
from witnessmark.host.shop import Shop
from witnessmark.host.truck import Truck
from witnessmark.people.person import Person

FOLDER = ROOT / "recordings_demo"
RATE = 8


def main(names: list[str]) -> None:
    for job in JOBS:
        if not names or job.name in names:
            with tempfile.TemporaryDirectory() as folder:
                record(job, Path(folder))


def record(job: Recorded, folder: Path) -> None:
    """Do the job on a truck in `folder` and write its recording, unless it shows something else than it must."""
    os.chdir(folder)  # so that no path of this machine gets into the record
    options = [word for fault in job.faults for word in ("--fault", fault)]
    with Truck(Path("yard"), RATE, "--trace", "bus.log", *options) as truck:
        shop = Shop(folder / "shop", truck.clock)
        identity = open_truck_job(shop, truck)
        with RunnerHandle.spawn(shop.journal_path, identity, Person("tech-7"), link=truck.address) as handle:
            Rehearsal(handle, truck.workshop, truck.clock, slips=job.slips).work()
    data = shop.evidence(identity)
    findings = audit_evidence(data, name=job.name).audit.findings
    answers = {str(one.number): one.answer for one in findings}
    not_met = tuple(one.number for one in findings if one.answer == "not met")
    if not_met != job.not_met:
        for one in findings:
            if one.answer == "not met":
                print(f"  {one.number} {one.text}")
        print(f"{job.name}: not met {not_met}, expected {job.not_met}: nothing is written")
        return
    target = FOLDER / job.name
    target.mkdir(parents=True, exist_ok=True)
    (target / "evidence.json").write_bytes(data)
    (target / "bus.log.gz").write_bytes(gzip.compress((folder / "bus.log").read_bytes(), mtime=0))
    (target / "expected.json").write_text(json.dumps(answers, indent=1) + "\n", encoding="utf-8")
    (target / "note.md").write_text(note(job), encoding="utf-8")
    print(f"{job.name}: {len(data)} bytes of evidence, not met: {not_met or 'none'}")


def note(job: Recorded) -> str:
    not_met = ", ".join(map(str, job.not_met)) or "none"
    return (
        f"# {job.title}\n\n{job.note}\n\n"
        "Invented: a light truck of a municipal depot, done by a scripted technician on the practice vehicle at "
        f"{RATE}x practice time. Nothing in it is a real vehicle, person or shop.\n\n"
        f'Questions that must be answered "not met": {not_met}. `expected.json` has every answer.\n'
    )


if __name__ == "__main__":
    main(sys.argv[1:])

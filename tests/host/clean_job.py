"""One clean job on the practice truck, done once for all tests that look at it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from witnessmark.cli.demo import open_truck_job
from witnessmark.host.face import RunnerHandle
from witnessmark.host.rehearsal import Rehearsal
from witnessmark.host.shop import Shop
from witnessmark.host.truck import Truck
from witnessmark.people.person import Person

TECHNICIAN = Person("tech-7")
RATE = 8


@dataclass(frozen=True)
class CleanJob:
    """The shop it was done in, its id, its evidence, every touch with its view, and how many were refused."""

    shop: Shop
    job: str
    evidence: bytes
    touches: list[dict[str, Any]]
    refused: int


def do_clean_job(folder: Path) -> CleanJob:
    """Open the demo's job in `folder` and do all of it well."""
    with Truck(folder / "yard", RATE) as truck:
        shop = Shop(folder / "shop", truck.clock)
        job = open_truck_job(shop, truck)
        with RunnerHandle.spawn(shop.journal_path, job, TECHNICIAN, link=truck.address) as handle:
            rehearsal = Rehearsal(handle, truck.workshop, truck.clock)
            rehearsal.work()
        return CleanJob(shop, job, shop.evidence(job), rehearsal.touches, len(rehearsal.errors))

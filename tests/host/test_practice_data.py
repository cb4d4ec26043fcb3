"""Practice data that a lead approved by name only is sent to a practice vehicle alone: asked at the truck's own ears.

The same truck is reached in two ways: as the practice vehicle that it is, and through its serial port, as any
interface is, where nothing says that it is one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from tests.host.test_first_use_truck import PROCEDURE, acts_heard
from tests.host.truck_job import DATA, LEAD, TECHNICIAN, Technician
from tests.plugins.practice.truck_process import TruckProcess, running
from tests.procedure.kept import kept

from witnessmark.clock import SystemClock
from witnessmark.host.face import RunnerHandle
from witnessmark.host.opening import open_job
from witnessmark.job.allowed.approval import approve
from witnessmark.journal.store import Journal
from witnessmark.mapping import load as maps


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard"), rate=1) as one:
        one.ready()
        yield one


def armed_or_refused(folder: Path, truck: TruckProcess, link: str, proven: str) -> tuple[str, list[str]]:
    """Go on with a job until its run is armed, or waits for the lead; return the view's kind and why it waits."""
    known, path = maps.load(DATA / "map.json"), folder / "journal.db"
    assert known.invented
    clock = truck.clock if link.startswith("practice:") else SystemClock()
    with Journal.create(path, "bay.tests.invalid", clock) as journal:
        draft = approve(LEAD, known)
        journal.append(replace(draft, body={**draft.body, "proven": proven}))
        job = open_job(
            journal, kept(PROCEDURE), known, by=TECHNICIAN, link=link, vehicle={"what": "practice truck"},
            now_ns=clock.stamp().wall_ns,
        )  # fmt: skip
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: waits(hands) or hands.errors or hands.view.get("kind") == "armed")
    return hands.view["kind"], [hands.view["text"]] if waits(hands) else [str(one) for one in hands.errors]


def waits(hands: Technician) -> bool:
    """Whether the screen says that nothing is sent, before anything is asked."""
    return hands.view.get("kind") == "busy" and "Nothing is sent" in hands.view["text"]


@pytest.mark.parametrize(
    ("real", "proven", "kind", "says"),
    [
        (True, "name only", "busy", "by name only (entry 1), and this is no practice vehicle"),
        (True, "pin", "armed", ""),
        (False, "name only", "armed", ""),
    ],
)
def test_an_invented_map_approved_by_name_only_reaches_a_practice_vehicle_alone(
    tmp_path: Path, truck: TruckProcess, real: bool, proven: str, kind: str, says: str
) -> None:
    before = acts_heard(truck)
    profile = DATA / "profile.toml"
    link = f"prompt:{truck.folder / 'port'}?profile={profile}" if real else f"practice:{truck.folder}"
    shown, refused = armed_or_refused(tmp_path, truck, link, proven)
    assert shown == kind and [says in one for one in refused] == [True] * bool(says)
    assert acts_heard(truck) == before

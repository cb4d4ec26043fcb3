"""A slice of the job campaign: ten kills, at writes around a run and in runs; a full disk, read-only files."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fault import job
from tests.fault.dying_runner import WHENS
from tests.fault.job import Work
from tests.host.truck_job import truth_runs
from tests.plugins.practice.truck_process import TruckProcess, running


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard")) as one:
        yield one


@pytest.fixture
def work(tmp_path: Path, truck: TruckProcess) -> Work:
    return job.open_work(tmp_path / "job", truck)


def test_killed_around_the_writes_of_a_run_nothing_acknowledged_is_lost_and_the_job_goes_on(work: Work) -> None:
    before, noted, heard = WHENS
    points = [f"intent {when}" for when in WHENS] + [f"interrupted {noted}", f"inspection {before}"]
    for point in (f"step {noted}", *points, f"outcome {before}", f"outcome {heard}"):
        assert job.kill_at(work, point), point
    job.finish(work)
    assert work.figures["kills"] == 8 and work.figures["inspections asked"] >= 3


def test_killed_before_during_and_at_the_end_of_a_run_nothing_acknowledged_is_lost_and_the_job_goes_on(
    work: Work,
) -> None:
    for after_s in (0.02, 0.6, 1.3):
        job.kill_in_a_run(work, after_s)
    job.finish(work)
    assert work.figures["kills"] == 3 and work.figures["inspections asked"] >= 1


@pytest.mark.parametrize("kind", ["armed", "intent"])
def test_a_full_disk_refuses_the_run_and_the_truck_never_ran(work: Work, kind: str) -> None:
    errors = job.fill_disk_at(work, kind)
    assert "recorded" in str(errors[0]["what"]) and "disk" in str(errors[0]["hint"]), errors
    assert errors[0]["reached"] == "nothing"
    job.finish(work)


def test_a_disk_that_is_full_when_the_outcome_is_written_leaves_an_intent_and_the_next_runner_asks(work: Work) -> None:
    errors = job.fill_disk_at(work, "outcome")
    assert any("recorded" in str(one["what"]) for one in errors), errors
    assert work.owes_inspection()
    job.finish(work)
    assert work.figures["inspections asked"] == 1


def test_a_journal_that_is_read_only_begins_no_runner(work: Work, truck: TruckProcess) -> None:
    files = list(work.path.parent.iterdir())
    folders = [work.path.parent, *work.path.parent.parents[:2]]
    before = len(truth_runs(truck))
    for path in (*files, work.path.parent):
        path.chmod(0o444 if path.is_file() else 0o555)
    for path in folders[1:]:
        path.chmod(0o755)
    try:
        with work.hands("", "--as-nobody") as hands:
            hands.wait_until(lambda: hands.handle.gone)
            assert hands.handle.process.wait(20) == 2, work.path.with_name("runner.log").read_text()
    finally:
        work.path.parent.chmod(0o755)
    assert hands.errors[0]["fatal"] and hands.errors[0]["reached"] == "nothing" and hands.errors[0]["hint"]
    assert len(truth_runs(truck)) == before

"""The runner process against the practice truck: real serial port, real journal, real processes."""

from __future__ import annotations

from pathlib import Path

from tests.host.truck_job import TECHNICIAN, Technician, open_truck_job, truth_runs
from tests.plugins.practice.truck_process import running

from witnessmark.host.face import RunnerHandle
from witnessmark.journal.bodies import Outcome, from_body
from witnessmark.journal.store import Journal


def test_a_job_runs_on_the_truck_and_its_durations_are_the_trucks_own(tmp_path: Path) -> None:
    with running(tmp_path / "truck") as truck:
        path, job, link = open_truck_job(tmp_path, truck, passes="p1,p6,p7")
        with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
            hands = Technician(handle, truck)
            hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
            assert hands.errors == []
        with Journal.open(path, truck.clock) as journal:
            found = [from_body("outcome", one.body) for one in journal.entries(job, kind="outcome")]
        runs = truth_runs(truck)
    outcomes = [one for one in found if isinstance(one, Outcome)]
    assert [one.result for one in outcomes] == ["completed"] * 3
    for outcome, run in zip(outcomes, runs, strict=True):
        true_s = run["end_s"] - run["start_s"]
        # The truck's clock is ours; its answer and our reading of it lie apart by the line, in practice seconds.
        assert abs(int(outcome.duration_ns) / 1e9 - true_s) < 0.5

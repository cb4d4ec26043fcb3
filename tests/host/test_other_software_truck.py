"""Other software than was approved, at the practice truck's own ears: nothing is opened for it, and it is only read."""

from __future__ import annotations

from pathlib import Path

from tests.host.truck_job import TECHNICIAN, Technician, open_truck_job, truth_runs
from tests.plugins.practice.truck_process import running

from witnessmark.host.face import RunnerHandle


def test_with_other_software_no_nipple_is_asked_for_nothing_but_reads_is_heard_and_it_goes_on_once_it_is_right(
    tmp_path: Path,
) -> None:
    with running(tmp_path / "truck", "--no-traffic") as truck:
        path, job, link = open_truck_job(tmp_path, truck, passes="p2")
        assert truck.workshop.do("software", "03.21.0") == "03.21.0"
        with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
            hands = Technician(handle, truck)
            hands.work_until(lambda: hands.view.get("text", "").startswith("Nothing is sent"))
            hands.listen_for(1)
            assert "F195 is 03.21.0" in hands.view["text"] and "approved was 03.20.7" in hands.view["text"]
            assert not [one for one in hands.told if one.get("view", {}).get("kind") in ("open", "arm")]
            truth = truck.truth()
            assert truth["openings"] == [] == truth["runs"] and hands.errors == []
            heard = [one["payload"] for one in truth["requests"]]
            assert heard.count("22F195") == 1 and {one[:2] for one in heard} <= {"03", "19", "22"}, "only reads"
            truck.workshop.do("software", "")
            hands.key("r")
            hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
        assert [run["ended_by"] for run in truth_runs(truck)] == ["stop"]

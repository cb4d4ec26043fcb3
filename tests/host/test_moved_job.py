"""A job begun in one bay is finished in another on the same truck, and audited as one."""

from __future__ import annotations

from pathlib import Path

from tests.host.truck_job import DATA, LEAD, TECHNICIAN, Technician, open_truck_job
from tests.plugins.practice.truck_process import running

from witnessmark.host import dossier
from witnessmark.host.auditing import audit_parts
from witnessmark.host.face import RunnerHandle
from witnessmark.host.releasing import gate_of
from witnessmark.host.shop import Shop
from witnessmark.host.taking_over import take_over
from witnessmark.job.allowed.approval import approve
from witnessmark.journal.check import check
from witnessmark.mapping.load import load as load_map


def test_a_run_that_nobody_saw_the_end_of_is_asked_about_first_in_the_bay_it_came_to(tmp_path: Path) -> None:
    with running(tmp_path / "truck") as truck:
        first = tmp_path / "bay1"
        first.mkdir()
        path, job, link = open_truck_job(first, truck, passes="p2")
        with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
            hands = Technician(handle, truck)
            hands.work_until(lambda: hands.run.get("state") == "running")
            handle.process.kill()
            hands.wait_until(lambda: handle.gone)
        file = tmp_path / "moved.json"
        file.write_bytes(Shop(first, truck.clock).evidence(job))

        second = Shop(tmp_path / "bay2", truck.clock)
        take_over(second, file, TECHNICIAN, name="J-2")
        with second.write("bay2.tests.invalid") as journal:
            journal.append(approve(LEAD, load_map(DATA / "map.json")))
        with RunnerHandle.spawn(second.journal_path, "J-2", TECHNICIAN, link=link) as handle:
            hands = Technician(handle, truck)
            hands.wait_until(lambda: hands.view)
            assert hands.view["kind"] == "inspect", hands.view
            hands.work_until(lambda: hands.view.get("title") == "The job is finished.", 90)
    with second.read() as journal:
        moved, _, inspected = list(journal.entries("J-2"))[:3]
    assert (inspected.kind, inspected.body["actuation"]) == ("inspection", moved.seq)
    found = dossier.of_job(second, "J-2")
    audited = audit_parts(found.parts).audit
    begun = [one for one in audited.case.timeline.actuations if one.outcome is None]
    looked = [one.body["actuation"] for one in audited.case.entries if one.kind == "inspection"]
    assert looked == [one.seq for one in begun] and gate_of(audited).shut == ()


def test_a_job_begun_in_one_bay_is_finished_in_another_and_audited_as_one(tmp_path: Path) -> None:
    with running(tmp_path / "truck") as truck:
        first = tmp_path / "bay1"
        first.mkdir()
        path, job, link = open_truck_job(first, truck, passes="p2")
        with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
            hands = Technician(handle, truck)
            hands.work_until(lambda: hands.view.get("kind") == "arm")
        file = tmp_path / "moved.json"
        file.write_bytes(Shop(first, truck.clock).evidence(job))

        second = Shop(tmp_path / "bay2", truck.clock)
        moved = take_over(second, file, TECHNICIAN, name="J-2")
        with second.write("bay2.tests.invalid") as journal:
            journal.append(approve(LEAD, load_map(DATA / "map.json")))
        with RunnerHandle.spawn(second.journal_path, "J-2", TECHNICIAN, link=link) as handle:
            hands = Technician(handle, truck)
            hands.wait_until(lambda: hands.view)
            assert hands.view["kind"] == "paused", hands.view
            hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
            assert hands.errors == []
    assert moved.verdict == "consistent, unanchored"
    assert check(second.journal_path, truck.clock).verdict == "consistent, unanchored"
    found = dossier.of_job(second, "J-2")
    audited = audit_parts(found.parts)
    case = audited.audit.case
    assert [one.outcome.result for one in case.timeline.actuations if one.outcome] == ["completed"]
    parts = [sum(one.seq < 1000 for one in case.entries), sum(one.seq >= 1000 for one in case.entries)]
    assert min(parts) > 5 and audited.integrity.verdict == "consistent, unanchored"
    answers = {one.id: one.answer for one in audited.audit.findings}
    assert (answers["duration"], answers["open-while-run"], answers["served"]) == ("met", "met", "met")

"""The runner process against the practice truck: real serial port, real journal, real processes."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.host.truck_job import TECHNICIAN, Technician, open_truck_job, truth_runs
from tests.plugins.practice.truck_process import TruckProcess, running

from witnessmark.host.face import RunnerHandle
from witnessmark.journal.bodies import Outcome, from_body
from witnessmark.journal.check import check
from witnessmark.journal.entry import Entry
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
    assert [(one.result, one.why) for one in outcomes] == [("completed", "")] * 3
    for outcome, run in zip(outcomes, runs, strict=True):
        true_s = run["end_s"] - run["start_s"]
        # The truck's clock is ours; its answer and our reading of it lie apart by the line, in practice seconds.
        assert abs(int(outcome.duration_ns) / 1e9 - true_s) < 0.5


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard")) as one:
        yield one


@pytest.fixture
def at_armed(tmp_path: Path, truck: TruckProcess) -> Iterator[tuple[Technician, Path, str, str]]:
    """A job of one pass on the truck, worked up to the armed view."""
    path, job, link = open_truck_job(tmp_path, truck, passes="p2")
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: hands.view.get("kind") == "armed")
        yield hands, path, job, link


def verified(path: Path, job: str, truck: TruckProcess) -> list[Entry]:
    """Return the job's entries after a whole check of the journal."""
    report = check(path, truck.clock)
    assert report.verdict in ("intact", "consistent, unanchored"), report
    with Journal.open(path, truck.clock) as journal:
        return list(journal.entries(job))


def last_outcome(path: Path, job: str, truck: TruckProcess) -> Outcome:
    body = [from_body("outcome", one.body) for one in verified(path, job, truck) if one.kind == "outcome"][-1]
    assert isinstance(body, Outcome)
    return body


MOMENTS_S = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.4, 0.7, 1.0, 1.3)
"""Real seconds from the start being asked for to the kill; a run of 12 s lasts 1.5 at eight times."""


def start_and_kill(path: Path, job: str, link: str, truck: TruckProcess, after_s: float) -> None:
    """Work up to the start, start, and kill the runner so many real seconds later."""
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: hands.view.get("kind") == "armed")
        handle.send({"do": "start", "view": hands.view["id"]})
        hands.listen_for(after_s)
        handle.process.kill()
        hands.wait_until(lambda: handle.gone)


def test_killed_at_ten_moments_the_journal_verifies_and_the_next_runner_asks_for_an_inspection_and_goes_on(
    tmp_path: Path, truck: TruckProcess
) -> None:
    path, job, link = open_truck_job(tmp_path, truck, passes="p2")
    inspections = 0
    for moment_s in MOMENTS_S:
        start_and_kill(path, job, link, truck, moment_s)
        entries = verified(path, job, truck)
        opened = [one.seq for one in entries if one.kind == "intent"]
        closed = [one.body["actuation"] for one in entries if one.kind in ("outcome", "interrupted")]
        inspections += len(set(opened) - set(closed))
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
    entries = verified(path, job, truck)
    assert [one.kind for one in entries].count("interrupted") == inspections >= 7
    assert [one.kind for one in entries].count("inspection") == inspections
    assert [one.body["how"] for one in entries if one.kind == "left"] == ["unseen"] * len(MOMENTS_S)
    assert last_outcome(path, job, truck).result == "completed"


def test_a_second_runner_is_refused_and_told_who_holds_the_journal(
    at_armed: tuple[Technician, Path, str, str],
) -> None:
    hands, path, job, link = at_armed
    second = RunnerHandle.spawn(path, job, TECHNICIAN, link=link, who="bay page")
    told = Technician(second, hands.truck)
    told.wait_until(lambda: told.errors)
    (error,) = told.errors
    assert (
        f"job run of job {job} by {TECHNICIAN.id} (process {hands.handle.process.pid}" in error["what"]
        and error["fatal"]
    )
    assert second.close() == 2


def test_a_face_that_dies_stops_the_run_and_the_outcome_is_written(
    at_armed: tuple[Technician, Path, str, str],
) -> None:
    hands, path, job, _ = at_armed
    hands.handle.send({"do": "start", "view": hands.view["id"]})
    hands.wait_until(lambda: hands.run.get("state") == "running")
    assert hands.handle.close() == 0
    outcome = last_outcome(path, job, hands.truck)
    assert (outcome.result, outcome.stop, outcome.why) == ("stopped", "confirmed", "the screen was lost")
    assert verified(path, job, hands.truck)[-1].body["how"] == "screen closed"
    assert truth_runs(hands.truck)[-1]["ended_by"] == "stop"


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_to_end_stops_the_run_first(
    at_armed: tuple[Technician, Path, str, str], number: signal.Signals
) -> None:
    hands, path, job, _ = at_armed
    hands.handle.send({"do": "start", "view": hands.view["id"]})
    hands.wait_until(lambda: hands.run.get("state") == "running")
    hands.handle.process.send_signal(number)
    hands.wait_until(lambda: hands.handle.gone)
    assert hands.handle.process.wait(10) == 0
    outcome = last_outcome(path, job, hands.truck)
    assert (outcome.result, outcome.stop, outcome.why) == ("stopped", "confirmed", number.name)


def test_ctrl_c_is_the_faces_and_the_stop_byte_stops(at_armed: tuple[Technician, Path, str, str]) -> None:
    hands, path, job, _ = at_armed
    hands.handle.send({"do": "start", "view": hands.view["id"]})
    hands.wait_until(lambda: hands.run.get("state") == "running")
    hands.handle.process.send_signal(signal.SIGINT)
    hands.handle.stop()
    hands.wait_until(lambda: hands.run.get("result"))
    assert (hands.run["result"], hands.run["state"]) == ("stopped", "stop confirmed")
    hands.wait_until(lambda: hands.view.get("kind") in ("close", "decide"))
    assert hands.handle.process.poll() is None
    assert last_outcome(path, job, hands.truck).why == "the operator"


def test_a_runner_that_dies_while_it_runs_is_unknown_to_the_face(
    at_armed: tuple[Technician, Path, str, str],
) -> None:
    hands, *_ = at_armed
    hands.handle.send({"do": "start", "view": hands.view["id"]})
    hands.wait_until(lambda: hands.run.get("state") == "running")
    hands.handle.process.kill()
    hands.wait_until(lambda: hands.handle.gone)
    assert hands.run["state"] == "unknown" and hands.errors[-1]["hint"] == "Treat as running; hands clear."


def test_an_adapter_unplugged_while_it_runs_is_unknown_and_the_job_goes_on_after_it_is_back(
    tmp_path: Path, truck: TruckProcess
) -> None:
    path, job, link = open_truck_job(tmp_path, truck, passes="p2")
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: hands.view.get("kind") == "armed")
        handle.send({"do": "start", "view": hands.view["id"]})
        hands.wait_until(lambda: hands.run.get("state") == "running")
        truck.workshop.do("fault", "unplugged")
        hands.wait_until(lambda: hands.view.get("kind") == "inspect")
        assert "Treat as running" in hands.errors[-1]["hint"]
        truck.workshop.do("fault", "none")
        hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
    entries = verified(path, job, truck)
    assert [one.body["result"] for one in entries if one.kind == "outcome"] == ["unknown", "completed"]


def test_another_testers_request_on_the_bus_refuses_the_start(at_armed: tuple[Technician, Path, str, str]) -> None:
    hands, *_ = at_armed
    runs = len(truth_runs(hands.truck))
    hands.truck.workshop.do("tester", "3E80")
    hands.wait_until(lambda: {"said": "another tester speaks on this bus"} in hands.told)
    hands.handle.send({"do": "start", "view": hands.view["id"]})
    hands.wait_until(lambda: hands.errors)
    assert hands.errors[-1]["rule"] == "other-tester" and len(truth_runs(hands.truck)) == runs

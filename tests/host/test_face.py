"""The face's hold on its runner, where no vehicle is needed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.job.stand import MAP, PROCEDURE, TECHNICIAN
from tests.procedure.kept import kept

from witnessmark.clock import SystemClock
from witnessmark.host.face import LOG, RunnerHandle
from witnessmark.host.opening import open_job
from witnessmark.job.walk.fold import fold
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft
from witnessmark.journal.store import Journal
from witnessmark.mapping.load import from_document
from witnessmark.report.lines import line


def opened(folder: Path) -> tuple[Path, str]:
    path = folder / "journal.db"
    with Journal.create(path, "bay.tests.invalid", SystemClock()) as journal:
        vehicle = {"what": "invented truck"}
        job = open_job(journal, kept(PROCEDURE), from_document(MAP), by=TECHNICIAN, vehicle=vehicle, now_ns=0)
    return path, job


def hear(handle: RunnerHandle, *keys: str) -> dict[str, Any]:
    """Return what the first message with each of `keys` says: they may come at once, or one by one."""
    found: dict[str, Any] = {}
    for _ in range(20):
        for message in handle.receive(10):
            found = {name: message[name] for name in keys if name in message} | found
        if handle.gone or len(found) == len(keys):
            break
    assert len(found) == len(keys), f"the runner said {list(found)} of {keys}"
    return found


def test_a_job_is_walked_by_hand_where_there_is_no_link(tmp_path: Path) -> None:
    path, job = opened(tmp_path)
    with RunnerHandle.spawn(path, job, TECHNICIAN) as handle:
        view = hear(handle, "view")["view"]
        assert (view["kind"], view["step"], view["at"], view["of"]) == ("step", "grade", 1, 11)
        handle.send({"do": "key", "view": view["id"], "key": "y", "said": "DOT 4"})
        assert hear(handle, "view")["view"]["step"] == "pressurise"
    assert handle.process.returncode == 0 and (path.parent / (path.name + LOG)).read_bytes() == b""
    with Journal.open(path, SystemClock()) as journal:
        assert [one.kind for one in journal.entries(job)] == ["job-opened", "step", "left"]


def test_a_grade_that_is_given_is_said_on_the_screen_and_stands_until_another_is(tmp_path: Path) -> None:
    path, job = opened(tmp_path)
    with RunnerHandle.spawn(path, job, TECHNICIAN, grade="told") as handle:
        assert "another tester runs it" in hear(handle, "said", "view")["said"]
    with RunnerHandle.spawn(path, job, TECHNICIAN) as handle:
        hear(handle, "view")
    with RunnerHandle.spawn(path, job, TECHNICIAN, grade="told") as handle:
        hear(handle, "view")
    with Journal.open(path, SystemClock()) as journal:
        entries = [one for one in journal.entries(job) if one.kind != "left"]
    assert [one.body.get("step", one.kind) for one in entries] == ["job-opened", "witnessed-as"]
    assert fold(entries[:1]).grade == "sent" and fold(entries).grade == "told"
    said = line("step", bodies.from_body("step", entries[1].body))
    assert said == "how runs are witnessed from here on: told"


def test_a_grade_that_is_given_for_a_job_that_has_ended_writes_nothing_and_says_so(tmp_path: Path) -> None:
    path, job = opened(tmp_path)
    with Journal.open(path, SystemClock(), write=True) as journal:
        journal.append(Draft("state", job, TECHNICIAN.actor, body=bodies.to_body(bodies.State(state="abandoned"))))
    with RunnerHandle.spawn(path, job, TECHNICIAN, grade="heard") as handle:
        assert "The job is abandoned: no run follows" in hear(handle, "said", "view")["said"]
    with Journal.open(path, SystemClock()) as journal:
        assert [one.kind for one in journal.entries(job)] == ["job-opened", "state"]


def test_a_job_that_is_not_there_is_one_clear_message(tmp_path: Path) -> None:
    path, _ = opened(tmp_path)
    handle = RunnerHandle.spawn(path, "no-such-job", TECHNICIAN)
    error = hear(handle, "error")["error"]
    assert error["what"] == "job: no entry opens this job" and error["hint"] and error["fatal"]
    assert handle.close() == 2 and handle.refused


def test_a_journal_that_is_not_there_is_one_clear_message(tmp_path: Path) -> None:
    handle = RunnerHandle.spawn(tmp_path / "none.db", "J1", TECHNICIAN)
    assert hear(handle, "error")["error"]["fatal"]
    assert handle.close() == 2


def test_a_runner_that_dies_idle_has_left_nothing_on_the_wire(tmp_path: Path) -> None:
    path, job = opened(tmp_path)
    handle = RunnerHandle.spawn(path, job, TECHNICIAN)
    hear(handle, "view")
    handle.process.kill()
    error = hear(handle, "error")["error"]
    assert (error["reached"], handle.gone, handle.live) == ("nothing", True, False)
    handle.close()


def test_the_runner_imports_nothing_heavy() -> None:
    heavy = "{'pint', 'numpy', 'rich', 'starlette', 'uvicorn', 'jinja2', 'segno', 'can', 'click'}"
    code = f"import sys, witnessmark.host.runner_process; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == "[]"

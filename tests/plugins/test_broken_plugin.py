"""A plugin that raises what no port allows, in the middle of a job: it is blamed by name, a run is stopped as far as
that goes, nobody is told that it stood still who does not know, and the job goes on."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from tests.host.truck_job import TECHNICIAN, Technician, open_truck_job, truth_runs
from tests.plugins import shaky
from tests.plugins.live_stand import LiveStand, standing
from tests.plugins.practice.truck_process import running
from tests.plugins.test_job_faults import start
from tests.plugins.wires import START, STOP, WIRES
from tests.rules.source import ROOT

from witnessmark.errors import LocalError
from witnessmark.host.face import LOG, RunnerHandle
from witnessmark.job.view import UNKNOWN_ACT
from witnessmark.journal.bodies import LinkEvent, Outcome, from_body
from witnessmark.journal.check import check
from witnessmark.journal.store import Journal

later = pytest.mark.campaign


@contextmanager
def shaky_stand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str = "prompt frames"
) -> Iterator[tuple[LiveStand, Path]]:
    monkeypatch.syspath_prepend(str(tmp_path / "shaky"))
    faults = shaky.install(tmp_path / "shaky")
    wire = WIRES[name]()
    wire.address = f"shaky:{faults}?of={wire.address.replace('?', '%3F').replace('=', '%3D').replace('&', '%26')}"
    with standing(tmp_path, wire) as stand:
        yield stand, faults


def blamed(stand: LiveStand, method: str, error: str) -> str:
    """Return how the plugin was blamed in the journal; the same was told to the face, with what to do."""
    (said,) = [
        one.detail for one in stand.bodies("event") if one.what == "plugin broke" and f" {method}:" in one.detail
    ]
    assert said.startswith("plugin shaky (bay-things 2.5) at shaky:") and f"broke in {method}: {error}" in said
    assert len([one for one in stand.errors if one["what"] == said and "author" in one["hint"]]) == 1
    return str(said)


@pytest.mark.parametrize(
    ("name", "method", "error", "result", "stop"),
    [
        ("prompt frames", "receive", "KeyError", "unknown", "unknown"),
        ("prompt frames", "receive", "SystemExit once", "stopped", "confirmed"),
        ("prompt frames", "send", "SystemExit", "unknown", "unknown"),
        ("prompt frames", "send", "KeyError once", "completed", "confirmed"),  # it is the stop itself, sent again
        pytest.param("prompt frames", "fileno", "KeyError once", "stopped", "confirmed", marks=later),
        pytest.param("kline", "receive", "KeyError", "unknown", "unknown", marks=later),
        ("kline", "send", "KeyError once", "stopped", "confirmed"),
    ],
)
def test_a_run_is_stopped_as_far_as_the_broken_plugin_lets_it(
    name: str, method: str, error: str, result: str, stop: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with shaky_stand(tmp_path, monkeypatch, name) as (stand, faults):
        start(stand)
        stand.until(lambda: stand.view["kind"] == "running")
        (faults / method).write_text(error, encoding="ascii")
        stand.until(lambda: stand.bodies("outcome"))
        (outcome,) = stand.bodies("outcome")
        assert (outcome.result, outcome.stop) == (result, stop)
        said = blamed(stand, method, error.partition(" ")[0])
        assert outcome.why == said
        assert (STOP in stand.wire.vehicle.heard) is (method != "send" or "once" in error)
        assert stand.wire.vehicle.heard.count(START) == 1
        if result == "unknown":
            assert outcome.next_act.startswith(UNKNOWN_ACT)
            assert outcome.next_act in [one["hint"] for one in stand.errors]
            stand.until(lambda: stand.view["kind"] == "inspect")
        (faults / method).unlink(missing_ok=True)


@pytest.mark.parametrize("error", ["KeyError once", pytest.param("SystemExit", marks=later)])
def test_a_plugin_that_breaks_before_the_start_sends_no_start(
    error: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with shaky_stand(tmp_path, monkeypatch) as (stand, faults):
        stand.go_to("armed")
        (faults / "receive").write_text(error, encoding="ascii")
        stand.until(lambda: stand.view["kind"] != "armed")
        stand.wait(0.1)
        blamed(stand, "receive", error.partition(" ")[0])
        assert START not in stand.wire.vehicle.heard and "intent" not in stand.kinds()
        assert "disarmed" in stand.kinds()
        (faults / "receive").unlink(missing_ok=True)
        start(stand)  # on the link opened anew
        stand.until(lambda: stand.bodies("outcome"))
        assert [one.result for one in stand.bodies("outcome")] == ["completed"]


def test_a_plugin_that_breaks_over_its_close_harms_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with shaky_stand(tmp_path, monkeypatch) as (stand, faults):
        start(stand)
        stand.until(lambda: stand.bodies("outcome"))
        (faults / "close").write_text("SystemExit", encoding="ascii")
        stand.runner._hearing.close()
        stand.wait(0.1)
        blamed(stand, "close", "SystemExit")
        assert [one.result for one in stand.bodies("outcome")] == ["completed"]


def test_a_plugin_that_breaks_when_opened_is_told_and_opens_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with shaky_stand(tmp_path, monkeypatch) as (stand, faults):
        stand.go_to("arm")
        (faults / "open").write_text("SystemExit", encoding="ascii")
        stand.runner._hearing.close()
        with pytest.raises(LocalError, match="no link"):
            stand.arm_anyway()
        stand.turn()
        assert "plugin shaky (bay-things 2.5): open_link broke with SystemExit" in stand.errors[-1]["what"]
        stand.until(lambda: stand.view["kind"] == "close")
        stand.press("y")  # nothing stands open, and none is opened, while nothing can be sent
        assert "there is no link to the control unit" in stand.view["text"]
        (faults / "open").unlink()
        stand.press("r")
        start(stand)
        stand.until(lambda: stand.bodies("outcome"))
        assert [one.result for one in stand.bodies("outcome")] == ["completed"]


@pytest.mark.parametrize(
    ("method", "error"), [("receive", "KeyError"), pytest.param("send", "SystemExit", marks=later)]
)
def test_with_a_pump_running_the_runner_lives_the_screen_says_what_to_do_and_the_job_goes_on(
    method: str, error: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    faults = shaky.install(tmp_path / "shaky")
    monkeypatch.setattr(sys, "path", [str(tmp_path / "shaky"), *sys.path])
    ours = [str(tmp_path / "shaky"), str(ROOT), os.environ.get("PYTHONPATH", "")]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(one for one in ours if one))
    with running(tmp_path / "truck") as truck:
        path, job, link = open_truck_job(tmp_path, truck, passes="p2")
        with RunnerHandle.spawn(path, job, TECHNICIAN, link=f"shaky:{faults}?of={link}") as handle:
            hands = Technician(handle, truck)
            hands.work_until(lambda: hands.view.get("kind") == "armed")
            handle.send({"do": "start", "view": hands.view["id"]})
            hands.wait_until(lambda: hands.run.get("state") == "running")
            (faults / method).write_text(error, encoding="ascii")
            hands.wait_until(lambda: hands.view.get("kind") == "inspect")
            assert any("plugin shaky (bay-things 2.5) at shaky:" in one["what"] for one in hands.errors)
            assert any(one["hint"].startswith(UNKNOWN_ACT) for one in hands.errors)
            (faults / method).unlink()
            hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
        if method == "receive":
            assert truth_runs(truck)[0]["ended_by"] == "stop", "the stop left, though nobody could hear its answer"
        assert check(path, truck.clock).verdict in ("intact", "consistent, unanchored")
        with Journal.open(path, truck.clock) as journal:
            entries = list(journal.entries(job))
        assert path.with_name(path.name + LOG).read_text(encoding="utf-8") == "", "no traceback"
    bodies = [from_body(one.kind, one.body) for one in entries if one.kind in ("outcome", "event")]
    outcomes = [one for one in bodies if isinstance(one, Outcome)]
    assert [one.result for one in outcomes] == ["unknown", "completed"] and outcomes[0].stop == "unknown"
    assert "plugin broke" in [one.what for one in bodies if isinstance(one, LinkEvent)]

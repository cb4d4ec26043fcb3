"""A learned wire command at the practice truck's own ears: its guarded first use, and what is never sent."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.host.truck_job import DATA, LEAD, TECHNICIAN, Technician
from tests.job.learned import NEVER, OBSERVED, changed
from tests.plugins.practice.truck_process import TruckProcess, running
from tests.procedure.kept import kept

from witnessmark.clock import ManualClock
from witnessmark.errors import LocalError
from witnessmark.host import acting, opening
from witnessmark.host.face import RunnerHandle
from witnessmark.job.allowed.approval import approve
from witnessmark.journal.bodies import Intent, from_body
from witnessmark.journal.store import Journal
from witnessmark.mapping import load as maps

PROCEDURE = """
format = "witnessmark-procedure/1"
id = "one-pass"
title = "One pass"
source = "invented for tests"
vehicle = "practice truck"
invented = true
armed_for = "60 s"
physical_fallback = "Close the nipple, ignition off."
nipples = [{ id = "rear-left", name = "rear left", circuit = "rear" }]
[[questions]]
id = "nobody-near"
text = "Is nobody near?"
[[passes]]
id = "p1"
nipples = ["rear-left"]
wire_command = "pump-rear"
seconds = "8 s"
seconds_tolerance = "1 s"
order = "before"
order_tolerance = "60 s"
overlap = "90 %"
"""


@pytest.fixture(scope="module")
def truck(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TruckProcess]:
    with running(tmp_path_factory.mktemp("yard")) as one:
        one.ready()
        yield one


def learned_document() -> dict[str, Any]:
    """Return the truck's map with its rear pump as if it had been learned by listening."""
    document: dict[str, Any] = json.loads((DATA / "map.json").read_text(encoding="utf-8"))
    (pump,) = [one for one in document["wire_commands"] if one["id"] == "pump-rear"]
    seen = {name: value for name, value in OBSERVED.items() if name != "seconds"}
    pump |= {"origin": "learned", "longest_s": 8, "cool_down_s": 16, "observed": seen}
    document["wire_commands"] = [pump]
    return document


def open_learned_job(folder: Path, truck: TruckProcess, document: dict[str, Any]) -> tuple[Path, str, str]:
    """Make a journal in which the map is approved and a job is open with it, whatever it says; the lead is here.

    As one may come from elsewhere: approving and opening here refuse what is never sent.
    """
    path, link, known = folder / "journal.db", f"practice:{truck.folder}", maps.from_document(document)
    with Journal.create(path, "bay.tests.invalid", truck.clock) as journal, pytest.MonkeyPatch.context() as elsewhere:
        elsewhere.setattr(opening, "require_sendable", lambda *given, hint: None)
        journal.append(approve(LEAD, known))
        acting.sign_on(journal, acting.Acting(LEAD, "pin"))
        job = opening.open_job(
            journal, kept(PROCEDURE), known, by=TECHNICIAN, link=link, vehicle={"what": "practice truck"},
            now_ns=truck.clock.stamp().wall_ns,
        )  # fmt: skip
    return path, job, link


def acts_heard(truck: TruckProcess) -> list[str]:
    """Return every request the truck received that would make it act, or enter a session for it."""
    return [
        one["payload"] for one in truck.truth()["requests"] if one["payload"][:2].upper() in ("31", "2F", "10", "3B")
    ]


@pytest.mark.parametrize("changes", [one for _, one in NEVER.values()], ids=NEVER.keys())
def test_no_job_is_opened_with_what_is_never_sent_but_one_that_another_tester_runs(
    changes: dict[str, Any], tmp_path: Path
) -> None:
    known, clock = maps.from_document(changed(learned_document(), changes)), ManualClock()
    with Journal.create(tmp_path / "journal.db", "bay.tests.invalid", clock) as journal:
        with pytest.raises(LocalError, match="pump-rear is never sent") as refused:
            opening.open_job(journal, kept(PROCEDURE), known, by=TECHNICIAN, vehicle={}, now_ns=0)
        assert "--grade told" in refused.value.hint
        assert opening.open_job(journal, kept(PROCEDURE), known, by=TECHNICIAN, vehicle={}, grade="told", now_ns=0)


@pytest.mark.parametrize("changes", [one for _, one in NEVER.values()], ids=NEVER.keys())
def test_the_truck_never_hears_the_start_and_no_nipple_is_opened_when(
    changes: dict[str, Any], tmp_path: Path, truck: TruckProcess
) -> None:
    path, job, link = open_learned_job(tmp_path, truck, changed(learned_document(), changes))
    before = acts_heard(truck)
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: "Its run is never sent" in hands.view.get("text", ""))
        handle.send({"do": "answers", "view": hands.view["id"], "answers": {"nobody-near": True}})
        hands.wait_until(lambda: hands.errors)
    assert "nothing is asked here" in hands.errors[0]["what"] and acts_heard(truck) == before
    with Journal.open(path, truck.clock) as journal:
        assert [one.kind for one in journal.entries(job) if one.kind in ("step", "armed", "intent")] == []


def test_the_truck_runs_its_first_use_shut_and_short_and_then_the_pass(tmp_path: Path, truck: TruckProcess) -> None:
    path, job, link = open_learned_job(tmp_path, truck, learned_document())
    done = len(truck.truth()["runs"])
    with RunnerHandle.spawn(path, job, TECHNICIAN, link=link) as handle:
        hands = Technician(handle, truck)
        hands.work_until(lambda: hands.view.get("kind") == "result")
        assert [one["key"] for one in hands.view["buttons"]] == ["1", "2", "3"]
        hands.key("1", "the pump was heard, the pedal stood")
        hands.work_until(lambda: hands.view.get("title") == "The job is finished.")
    runs = truck.truth()["runs"][done:]
    lasted = [round(one["end_s"] - one["start_s"]) for one in runs]
    assert len(lasted) == 2 and lasted[0] >= 4 and lasted[1] >= 8, "a busy machine stops late, and never early"
    with Journal.open(path, truck.clock) as journal:
        bodies = [from_body("intent", one.body) for one in journal.entries(job, kind="intent")]
        kinds = [one.kind for one in journal.entries(job)]
        steps = [one.seq for one in journal.entries(job, kind="step") if one.body["act"] == "opened"]
        (entered,) = [one.seq for one in journal.entries(job, kind="first-use")]
    intents = [one for one in bodies if isinstance(one, Intent)]
    assert [(one.first_use, one.seconds) for one in intents] == [(True, "4"), (False, "8")]
    assert entered < min(steps) and kinds.index("first-use") > kinds.index("outcome")

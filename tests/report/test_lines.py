"""Every kind of entry has a line that says what it holds."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, edit
from tests.report.test_facts import of

from witnessmark.audit.grounds.asked import looks_how_it_ran
from witnessmark.journal import bodies, permission
from witnessmark.journal.kinds import KINDS
from witnessmark.report.lines import line
from witnessmark.report.not_part import not_right

AMOUNT = bodies.Amount(value="9", unit="N.m")


@pytest.mark.parametrize(
    ("kind", "body", "said"),
    [
        (
            "step",
            bodies.StepDone(step="", act="opened", nipple="rr", pass_id="p1", on_cue=True),
            "nipple rr opened on cue (p1)",
        ),
        ("step", bodies.StepDone(step="cap", act="done", nipple="rr", pass_id="p1"), "cap at rr: done (p1)"),
        ("step", bodies.StepDone(step="run-accepted", act="confirmed"), "the run accepted as it was"),
        ("step", bodies.StepDone(step="run-again", act="done", pass_id="p1"), "to be done, or done again (p1)"),
        ("step", bodies.StepDone(step="earlier-2", act="confirmed"), "left open by the job before, item 2: right now"),
        ("step", bodies.StepDone(step="make-safe", act="done"), "make safe: done"),
        (
            "step",
            bodies.StepDone(step="nipple-missed", act="skipped", nipple="rr", pass_id="p1"),
            "nipple rr not opened while it ran (p1)",
        ),
        (
            "step",
            bodies.StepDone(step="leaks", act="skipped", said="it leaks", looked=True),
            "leaks: looked at, and not right: it leaks",
        ),
        (
            "step",
            bodies.StepDone(step="earlier-2", act="skipped", looked=True),
            "left open by the job before, item 2: looked at, and not right",
        ),
        (
            "step",
            bodies.StepDone(step="earlier-2", act="skipped"),
            "left open by the job before, item 2: not right, or not looked at",
        ),
        ("reading", bodies.Reading(what="torque", amount=AMOUNT, high="10 N.m"), "torque 9 N.m, asked at most 10 N.m"),
        ("step", bodies.StepDone(step="cap", act="skipped", said="lost"), "cap: skipped: lost"),
        (
            "reading",
            bodies.Reading(what="torque", amount=AMOUNT, low="8 N.m", high="10 N.m", within=False, instrument="w3"),
            "torque 9 N.m, asked 8 N.m to 10 N.m, outside the limit: read with w3",
        ),
        (
            "condition",
            bodies.Condition(name="speed", found="0 km/h", wanted="", holds=True, source="read"),
            "speed: 0 km/h; holds, read",
        ),
        (
            "outcome",
            bodies.Outcome(actuation=1, pass_id="p1", result="unknown", stop="unknown", next_act="hands clear"),
            "run unknown, stop unknown (p1): hands clear",
        ),
        (
            "keepalive",
            bodies.KeepAlive(actuation=1, request="3E80", count=5, largest_gap_ns="2000000000"),
            "kept alive 5 times, largest gap 2.0 s",
        ),
        (
            "inspection",
            bodies.Inspection(actuation=1, pass_id="p1", said="dry", safe=False),
            "inspected, NOT safe (p1): dry",
        ),
        (
            "people",
            permission.People(
                act="added", person="t-otter", people={"t-otter": permission.KnownPerson("technician", "ab")}
            ),
            "t-otter is added, a technician",
        ),
        (
            "people",
            permission.People(act="accepted", people={}, differences=("t-otter is a lead",), why="by hand"),
            "the people file is accepted as it is: t-otter is a lead; by hand",
        ),
        (
            "people",
            permission.People(act="role", person="t-otter", people={"t-otter": permission.KnownPerson("lead", "ab")}),
            "t-otter is now a lead",
        ),
        ("people", permission.People(act="pin", person="t-otter", people={}), "t-otter has a new PIN"),
        ("scan", bodies.CodeScan(when="after", codes=()), "trouble codes after: none"),
        ("state", bodies.State(state="paused", why="end of shift"), "job paused: end of shift"),
        (
            "state",
            bodies.State(state="paused", open_nipples=("rr",), pressurised=True),
            "job paused, nipple rr OPEN, the feed under pressure",
        ),
        (
            "state",
            bodies.State(state="open", again="it goes on on another date"),
            "job open, all is asked again: it goes on on another date",
        ),
        (
            "refused",
            bodies.Refused(pass_id="p1", rule="moving", why="it moves"),
            "refused, nothing sent (p1): it moves",
        ),
    ],
)
def test_a_body_is_said_in_a_line(kind: str, body: bodies.Body, said: str) -> None:
    assert line(kind, body) == said


def test_a_no_at_a_step_that_asks_besides_how_it_ran_says_that_the_fluid_was_looked_at() -> None:
    asked = edit(("[pump]", '[[steps_after_each_pass]]\nid = "torque"\ntext = "Torque"\nalso = ["clear"]\n[pump]'))
    no = bodies.StepDone(step="torque", act="skipped", nipple="rr", pass_id="p1", said="bubbles", looked=True)
    said = "how the fluid ran at rr: looked at, and not right (p1): bubbles"
    assert line("step", no, ran=looks_how_it_ran(asked)) == said
    assert line("step", no) == "torque at rr: looked at, and not right (p1): bubbles"
    job = Job(asked).step("torque", 50, act="skipped", pass_id="p1", nipple="rr", said="bubbles", looked=True)
    told = of(job)
    assert told["entries"][-1]["text"] == said
    assert told["timeline"]["steps"][-1]["text"] == "Torque: how the fluid ran"
    assert not_right(job.case(), []) == [
        "p1, rear right, how the fluid ran: looked at, and not right, bubbles (entry 1)"
    ]
    assert "bubbles" not in "".join(told["not_part"] + told["happened"]), "a finding says it"


@pytest.mark.parametrize("kind", [*KINDS, "later-kind"])
def test_a_kind_without_a_typed_body_is_named(kind: str) -> None:
    assert line(kind, None)


@pytest.mark.parametrize(
    ("result", "stop", "said"),
    [
        ("completed", "confirmed", "run ended, as t-otter said (p1): as told"),
        ("stopped", "confirmed", "run ended before its time, as t-otter said (p1): as told"),
        ("unknown", "unknown", "run not seen to end, as t-otter said (p1): as told"),
    ],
)
def test_an_end_that_a_person_told_of_was_confirmed_by_nobody(result: str, stop: str, said: str) -> None:
    body = bodies.Outcome(actuation=1, pass_id="p1", result=result, stop=stop, why="as told")  # type: ignore[arg-type]
    assert line("outcome", body, "person:t-otter") == said
    assert line("outcome", body, "machine:runner") == f"run {result}, stop {stop} (p1): as told"

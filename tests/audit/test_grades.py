"""One job whose runs were sent, heard and told: the same questions, and each answer says what it rests on."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import PEER, TRUCK, Job, serve
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.audit.verdict import Finding
from witnessmark.journal import bodies


def mixed(grades: tuple[bodies.Grade, ...] = ("sent", "heard", "told")) -> Job:
    """Serve each pass as it should be, its run of the next of `grades`."""
    job = Job(TRUCK, u=1).pressurise(50)
    for index, one in enumerate(job.case().plan):
        job.grade = grades[index % len(grades)]
        serve(job, one.id, 100.0 + 100 * index)
    return job.read("feed-pressure", "2.0 bar", 600).depressurise(610)


def findings(job: Job) -> dict[str, Finding]:
    return {one.id: one for one in audit(job.entries(), list(QUESTIONS.values())).findings}


def of_pass(finding: Finding, pass_id: str) -> str:
    return next(one.answer for one in finding.details if one.subject.startswith(pass_id))


MIXED = mixed()
FOUND = findings(MIXED)
PASSES = [one.id for one in MIXED.case().plan if one.wire_command]


def test_the_job_mixes_all_three() -> None:
    assert {run.grade for run in MIXED.case().timeline.actuations} == set(bodies.GRADES)


@pytest.mark.parametrize("name", ["duration", "right-nipple", "open-while-run", "pump-rest", "opening-order"])
def test_a_question_is_answered_for_each_grade_and_says_which_it_rests_on(name: str) -> None:
    finding = FOUND[name]
    assert finding.grades == ("sent", "heard", "told") and "rests on runs sent, heard and told" in finding.text
    for run in MIXED.case().timeline.actuations:
        said = [one.text for one in finding.details if set(run.cites) & set(one.cites) and one.subject != "all runs"]
        assert said and all(run.grade in one for one in said), (name, run.grade, said)


def test_what_the_wire_did_not_show_of_a_told_run_is_no_proof_and_of_the_others_is_met() -> None:
    by_grade = {run.grade: run.pass_id for run in MIXED.case().timeline.actuations}
    answered = FOUND["answered"]
    assert [of_pass(answered, by_grade[one]) for one in bodies.GRADES] == ["met", "met", "no proof"]
    assert [of_pass(FOUND["link"], by_grade[one]) for one in bodies.GRADES] == ["met", "met", "no proof"]
    alive = FOUND["session-alive"]
    assert [of_pass(alive, by_grade[one]) for one in bodies.GRADES] == ["met", "met", "no proof"]
    assert "another tester kept its session" in next(
        one.text for one in alive.details if one.subject == by_grade["told"]
    )


def test_a_told_run_beside_others_hides_no_refusal_of_theirs() -> None:
    job = mixed()
    job.grade = "heard"
    job.run("p1", 700, None, answer="negative", code="22")
    finding = findings(job)["refusals"]
    assert finding.answer == "not met" and "22" in finding.text


@pytest.mark.parametrize("grade", ["heard", "told"])
def test_a_job_of_one_other_grade_says_so(grade: bodies.Grade) -> None:
    finding = findings(mixed((grade,)))["duration"]
    assert finding.grades == (grade,) and f"rests on runs {grade}" in finding.text


def test_a_job_of_sent_runs_alone_needs_no_such_words() -> None:
    finding = findings(mixed(("sent",)))["duration"]
    assert finding.grades == ("sent",) and "rests on" not in finding.text


def test_a_question_about_no_run_names_no_grade() -> None:
    assert FOUND["fluid-kind"].grades == () and "rests on" not in FOUND["fluid-kind"].text


def test_wire_commands_that_were_sent_need_a_maps_digest_whatever_the_job_was_opened_as() -> None:
    job = Job(TRUCK, grade="told", protocol_map=None)
    job.grade = "sent"
    serve(job, "p1", 100)
    (documents,) = [one for one in findings(job)["who"].details if one.subject in ("protocol map", "documents")]
    assert documents.answer == "no proof"


# First uses.

YES = dict.fromkeys(("first-nipples-shut", "first-wheels-clear", "first-second-person"), True)


def learned(
    *, answers: dict[str, bool] = YES, lead: str = "l-heron", result: str = "worked", open_first: bool = False
) -> Job:
    """A first use of the first pass's wire command, then that pass with it."""
    job = Job(TRUCK)
    one = job.passes[PASSES[0]]
    if open_first:
        job.open(one.nipples[0], one.id, 45)
    armed = bodies.Armed(
        pass_id="", wire_command=one.wire_command, shown={}, answers=answers, until_mono="0", lead=lead
    )
    job.add("armed", armed, 48)
    common: dict[str, Any] = {"wire_command": one.wire_command, "peer": PEER, "learned": True}
    start, stop = "31010301", "31020301"
    trial = bodies.Intent(pass_id="", nipples=(), seconds="4", start=start, stop=stop, first_use=True, **common)
    intent = job.add("intent", trial, 50)
    job._exchange("start", start, 50.1, "positive", "", 0, intent, "")
    job._exchange("stop", stop, 54.1, "positive", "", 0, intent, "")
    mono = [str(job._mono(at)) for at in (50.1, 54.1)]
    job.add(
        "outcome",
        bodies.Outcome(
            actuation=intent, pass_id="", result="completed", stop="confirmed", from_mono=mono[0], to_mono=mono[1]
        ),
        54.2,
    )
    if open_first:
        job.close(one.nipples[0], 56, one.id)
    if result:
        body = bodies.FirstUse(
            actuation=intent, wire_command=one.wire_command, result=result, said="pump heard",  # type: ignore[arg-type]
            start=start, stop=stop, identification={"F189": "0102"},
        )  # fmt: skip
        job.add("first-use", body, 58)
    job.open(one.nipples[0], one.id, 100)
    run = bodies.Intent(pass_id=one.id, nipples=one.nipples, seconds="20", start=start, stop=stop, **common)
    second = job.add("intent", run, 104)
    job._exchange("start", start, 104, "positive", "", 0, second, one.id)
    job._exchange("stop", stop, 124, "positive", "", 0, second, one.id)
    mono = [str(job._mono(at)) for at in (104, 124)]
    job.add(
        "outcome",
        bodies.Outcome(
            actuation=second, pass_id=one.id, result="completed", stop="confirmed", from_mono=mono[0], to_mono=mono[1]
        ),
        124.1,
    )
    return job.close(one.nipples[0], 130, one.id)


def first_uses(job: Job) -> list[tuple[str, str]]:
    details = findings(job)["right-nipple"].details
    return [(one.answer, one.text) for one in details if "first use" in one.subject or "learned" in one.subject]


def test_a_guarded_first_use_that_worked_and_the_pass_after_it_are_met() -> None:
    (trial, later) = first_uses(learned())
    assert trial[0] == later[0] == "met" and "pump heard" in trial[1] and "l-heron present" in trial[1]


@pytest.mark.parametrize(
    ("job", "trial", "later"),
    [
        (learned(lead=""), "not met", "met"),
        (learned(answers={**YES, "first-wheels-clear": False}), "not met", "met"),
        (learned(answers={}), "not met", "met"),
        (learned(open_first=True), "not met", "met"),
        (learned(result=""), "no proof", "no proof"),
        (learned(result="failed"), "met", "not met"),
        (learned(result="unsure"), "met", "not met"),
    ],
)
def test_what_was_missing_at_a_first_use_shows(job: Job, trial: str, later: str) -> None:
    assert [one[0] for one in first_uses(job)] == [trial, later]


def test_a_first_use_is_no_run_of_its_pass() -> None:
    job = learned()
    assert [run.first_use for run in job.case().timeline.actuations] == [True, False]
    assert len(job.case().timeline.actuations_of(PASSES[0])) == 1
    rest = findings(job)["pump-rest"]
    assert any("first use" in one.text for one in rest.details) or any(
        "first use" in one.subject for one in rest.details
    )

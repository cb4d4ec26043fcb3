"""Wire commands that another tester ran besides the passes: which nipples were open, how long, what was refused."""

from __future__ import annotations

import pytest
from tests.audit.jobs import MONO, NS, PEER, TRUCK, Job, serve
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.audit.verdict import Detail, Finding
from witnessmark.journal import bodies


def besides(
    job: Job, start: float, end: float | None = None, *, name: str = "valve", code: str = "", result: str = "stopped"
) -> Job:
    """Add a run that another tester was heard to make; refused with a `code`, of unknown end without `end`."""
    intent = job.add(
        "intent",
        bodies.Intent(
            pass_id="", nipples=(), wire_command=name, seconds="", start="2F7101", stop="2F7100", peer=PEER,
            grade="heard",
        ),
        start,
    )  # fmt: skip
    if code:
        job.add(
            "outcome",
            bodies.Outcome(actuation=intent, pass_id="", result="refused", stop="not sent", code=code),
            start,
        )
        return job
    times = {"from_mono": str(MONO + round(start * NS))}
    if end is not None:
        times["to_mono"] = str(MONO + round(end * NS))
    known = result if end is not None else "unknown"
    body = bodies.Outcome(
        actuation=intent,
        pass_id="",
        result=known,  # type: ignore[arg-type]
        stop="confirmed" if end is not None else "unknown",
        **times,
    )
    job.add("outcome", body, start if end is None else end)
    return job


def heard(*, scope: str = "full") -> Job:
    """A job of which each pass was heard as it should be, up to the second."""
    job = Job(TRUCK, u=1, grade="heard", scope=scope).pressurise(50)
    serve(job, "p1", 100.0)
    return serve(job, "p2", 200.0)


def found(job: Job, name: str) -> Finding:
    return next(one for one in audit(job.entries(), list(QUESTIONS.values())).findings if one.id == name)


def of_it(finding: Finding, subject: str = "valve besides") -> Detail:
    return next(one for one in finding.details if one.subject == subject)


def while_open(start: float = 315, end: float | None = 325, **more: str) -> Job:
    job = heard().open("fr", "p3", 310)
    besides(job, start, end, **more)
    return job.close("fr", 340)


def test_one_that_ran_with_another_nipple_open_is_the_wrong_one_for_it() -> None:
    finding = found(while_open(), "right-nipple")
    said = of_it(finding)
    assert (finding.answer, said.answer) == ("not met", "not met")
    assert "front right was open while another tester ran valve" in said.text and "(heard)" in said.text


def test_one_whose_nipple_may_have_been_open_is_no_proof() -> None:
    job = heard().open("fr", "p3", 310, u=10)
    besides(job, 305, 312)
    said = of_it(found(job.close("fr", 340), "right-nipple"))
    assert said.answer == "no proof" and "may have been open" in said.text


def test_one_whose_end_nobody_heard_may_have_run_with_what_was_opened_after_it() -> None:
    job = besides(heard(), 290).open("fr", "p3", 310).close("fr", 340)
    assert of_it(found(job, "right-nipple")).answer == "no proof"


def test_one_that_ran_with_a_nipple_open_that_it_is_for_is_told_and_is_not_wrong() -> None:
    said = of_it(found(while_open(name="pump"), "right-nipple"), "pump besides")
    assert said.answer == "met" and "outside its pass, with front right open" in said.text


def test_one_that_ran_with_everything_shut_harms_no_nipple() -> None:
    job = besides(heard(), 300, 305)
    assert not [one for one in found(job, "right-nipple").details if one.subject == "valve besides"]


def test_its_time_and_its_rest_count_for_the_motor() -> None:
    long = of_it(found(besides(heard(), 300, 390, name="pump"), "pump-rest"), "pump besides")
    assert long.answer == "not met" and "90.0 s" in long.text
    job = besides(heard(), 300, 310, name="pump")
    job.run("p3", 315, 335)
    rest = [one for one in found(job, "pump-rest").details if "of rest after pump besides" in one.text]
    assert [one.answer for one in rest] == ["not met"]


def test_a_refused_one_is_told_with_its_code() -> None:
    finding = found(besides(heard(), 300, code="22"), "refusals")
    said = of_it(finding)
    assert said.answer == "met" and "22 conditionsNotCorrect" in said.text and "no pass of this job asks" in said.text
    assert "nothing was refused" not in finding.text


@pytest.mark.parametrize(("again", "answer"), [(True, "met"), (False, "not met")])
def test_a_refused_one_that_a_pass_asks_for_needs_a_run_afterwards(again: bool, answer: str) -> None:
    job = besides(heard(), 300, code="22", name="pump")
    job = serve(job, "p3", 400.0) if again else job
    assert of_it(found(job, "refusals"), "pump besides").answer == answer


def test_a_refused_one_ran_with_no_nipple() -> None:
    job = heard().open("fr", "p3", 310)
    besides(job, 315, code="22").close("fr", 340)
    assert not [one for one in found(job, "right-nipple").details if one.subject == "valve besides"]


@pytest.mark.parametrize("name", ["right-nipple", "pump-rest", "refusals"])
def test_a_journal_that_has_only_the_request_proves_nothing_of_it(name: str) -> None:
    job = heard()
    body = bodies.LinkEvent(what="heard elsewhere", detail="valve, not of the pass in hand", raw="2F71010305")
    seq = job.add("event", body, 300)
    said = of_it(found(job, name))
    assert said.answer == "no proof" and said.cites == (seq,) and "not recorded" in said.text

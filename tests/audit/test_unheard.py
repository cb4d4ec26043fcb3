"""What nobody listened to proves nothing: losses of the link, pauses, ends of the program, a bus that fell silent."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.audit.jobs import TRUCK, Job, serve
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.grounds.unheard import gaps
from witnessmark.audit.run import audit
from witnessmark.audit.verdict import Finding

CLAIM_THAT_NOTHING_RAN = ("right-nipple", "pump-rest", "refusals", "link", "session-alive")
Act = Callable[[Job], object]


def heard(*, between: Act = lambda job: None, while_open: Act = lambda job: None, grade: str = "heard") -> Job:
    """Two passes as they should be, and what happens at 140 s between them, or at 242 s with a nipple of the second."""
    job = Job(TRUCK, u=1, grade=grade, scope="nipples rr,rl").event("listening", 40).pressurise(50)  # type: ignore[arg-type]
    serve(job, "p1", 100.0)
    between(job)
    job.read("feed-pressure", "2.0 bar", 195, pass_id="p2").open("rl", "p2", 200).run("p2", 204, 224)
    while_open(job)
    return job.close("rl", 260, "p2")


def found(job: Job) -> dict[str, Finding]:
    return {one.id: one for one in audit(job.entries(), list(QUESTIONS.values())).findings}


def lost(job: Job, at: float = 140, until: float = 150) -> None:
    job.event("lost", at).event("listening", until)


def test_a_job_that_was_heard_throughout_proves_what_ran() -> None:
    findings = found(heard())
    assert {name: findings[name].answer for name in CLAIM_THAT_NOTHING_RAN} == dict.fromkeys(
        CLAIM_THAT_NOTHING_RAN, "met"
    )


def test_a_link_that_was_lost_between_two_runs_leaves_their_rest_and_all_else_between_them_unproven() -> None:
    findings = found(heard(between=lost))
    assert findings["right-nipple"].answer == "met"  # every nipple was shut then
    for name in ("pump-rest", "refusals", "link", "session-alive"):
        assert findings[name].answer == "no proof", name
        assert "we did not listen from" in findings[name].text and "the link was lost" in findings[name].text


def test_a_link_that_was_lost_while_a_nipple_was_open_names_the_loss_and_both_times() -> None:
    job = heard(while_open=lambda job: lost(job, 242, 250))
    finding = found(job)["right-nipple"]
    assert finding.answer == "no proof"
    assert "rear left open: we did not listen from 15:10:42Z to 15:10:50Z (the link was lost)" in finding.text
    losses = {entry.seq for entry in job.entries() if entry.kind == "event"}
    assert len(losses & set(finding.cites)) == 2


@pytest.mark.parametrize(
    ("what", "why"),
    [
        ("bus silent", "nothing at all came on the bus"),
        ("not listening", "listening was ended"),
        ("garbled", "could not be read"),
        ("bus_off", "the bus was off"),
    ],
)
def test_whatever_kept_the_listener_from_hearing_leaves_no_proof(what: str, why: str) -> None:
    finding = found(heard(between=lambda job: job.event(what, 140).event("listening", 150)))["pump-rest"]
    assert finding.answer == "no proof" and why in finding.text


def test_the_end_of_the_program_and_a_machine_that_slept_leave_no_proof() -> None:
    again = found(heard(between=lambda job: job.restart().event("listening", 150)))["pump-rest"]
    slept = found(heard(between=lambda job: job.sleep(8)))["pump-rest"]
    assert (again.answer, slept.answer) == ("no proof", "no proof")
    assert "no program of this job ran" in again.text and "the machine slept" in slept.text


def test_listening_that_never_came_back_is_unproven_up_to_the_end() -> None:
    finding = found(heard(while_open=lambda job: job.event("lost", 242)))["right-nipple"]
    assert finding.answer == "no proof" and "to 15:11:00Z (the link was lost)" in finding.text


def test_where_no_entry_says_when_listening_began_a_pause_and_a_loss_stand_for_it() -> None:
    job = Job(TRUCK, u=1, grade="heard", scope="nipples rr,rl").pressurise(50)
    serve(job, "p1", 100.0)
    job.state("paused", 140).state("open", 150)
    finding = found(serve(job, "p2", 200.0))["pump-rest"]
    assert finding.answer == "no proof" and "the job was paused" in finding.text


def test_a_pause_through_which_the_program_listened_is_none() -> None:
    findings = found(heard(between=lambda job: job.state("paused", 140).state("open", 150)))
    assert {name: findings[name].answer for name in CLAIM_THAT_NOTHING_RAN} == dict.fromkeys(
        CLAIM_THAT_NOTHING_RAN, "met"
    )


def test_a_job_that_we_sent_listens_for_nobody() -> None:
    job = heard(between=lost, while_open=lambda job: lost(job, 242, 250), grade="sent")
    assert not gaps(job.case()).things
    assert found(job)["right-nipple"].answer == "met"


def test_what_was_only_told_claims_no_more_than_was_told() -> None:
    finding = found(heard(grade="told"))["right-nipple"]
    assert finding.answer == "met" and "as far as runs were told: nobody listened for others" in finding.text

"""What was recorded of a run that no entry says began is named, and leaves no proof of all runs at once."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job
from tests.audit.procedures import complete
from tests.audit.questions.test_end_heard_later import cut, event
from tests.audit.shipped import QUESTIONS, ask

from witnessmark.audit.run import audit
from witnessmark.journal import bodies

EVERY_RUN = (7, 17, 19, 20, 21, 22)
"""The questions that speak of every run of a job."""


@pytest.mark.parametrize("kinds", [("intent",), ("intent", "exchange", "keepalive"), ("intent", "outcome")])
@pytest.mark.parametrize("number", EVERY_RUN)
def test_a_run_of_which_only_a_later_part_is_recorded_is_no_proof(number: int, kinds: tuple[str, ...]) -> None:
    job = complete()
    whole = len(job.entries())
    job.run("p1", 1000, 1020)
    kept = [one for one in job.entries() if one.seq < whole or one.kind not in kinds]
    (found,) = audit(kept, [QUESTIONS[number]]).findings
    assert found.answer == "no proof", found
    assert "p1: entr" in found.text and "that a wire command ran, and no entry says that it began" in found.text
    assert {one.seq for one in kept[whole:]} <= set(found.cites)


@pytest.mark.parametrize("number", EVERY_RUN)
def test_a_second_end_is_of_no_run_that_anybody_saw_begin(number: int) -> None:
    job = complete()
    intent = next(one.seq for one in job.entries() if one.kind == "intent")
    body = bodies.Outcome(actuation=intent, pass_id="p1", result="completed", stop="confirmed")
    seq = job.add("outcome", body, 1000)
    found = ask(number, job)
    assert found.answer == "no proof" and "no entry says that another began" in found.text, found
    assert seq in found.cites


def test_a_told_run_with_two_ends_ended_by_the_last_of_them() -> None:
    def told(*ends: float) -> Job:
        job = Job(scope="nipples rr", grade="told").run("p1", 10, ends[0])
        for end in ends[1:]:
            body = bodies.Outcome(actuation=1, pass_id="p1", result="completed", stop="confirmed")
            job.add("outcome", body, end, u=1.0, by="person:t-otter", basis="touch")
        return job

    assert [ask(16, told(*ends)).answer for ends in ((15,), (15, 40), (40,))] == ["not met", "no proof", "met"]
    assert [ask(17, told(*ends)).answer for ends in ((15,), (15, 50), (50,))] == ["met", "no proof", "not met"]


@pytest.mark.parametrize("number", [17, 19])
def test_a_second_stop_that_was_heard_ends_another_run(number: int) -> None:
    def twice(job: Job, intent: int) -> None:
        event(job, intent)
        event(job, intent)

    once, again = (ask(number, cut(then)) for then in (event, twice))
    assert "heard to end and not to begin" not in once.text
    assert again.answer == "no proof" and "pump besides: a run of pump by another tester was heard to end" in again.text


@pytest.mark.parametrize("number", [17, 19, 20, 21, 22])
def test_a_run_after_another_that_a_card_leaves_empty_is_no_proof(number: int) -> None:
    job = complete().step("not-written", 1000, act="confirmed", answer="run", pass_id="p1")
    found = ask(number, job)
    assert found.answer == "no proof" and "p1: another run of pump is not written on the card" in found.text, found

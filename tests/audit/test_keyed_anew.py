"""A line that was taken back and keyed in anew was done once: each reading of the record has the one or the other."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job
from tests.audit.procedures import WHOLE
from tests.audit.test_amended import amend, found

from witnessmark.audit.amended import as_corrected, as_first_written
from witnessmark.audit.verdict import Finding

TYPED = {"basis": "typed"}
ASKED_OF_NIPPLES = (4, 9, 10, 23)


def back(job: Job, *targets: int) -> Job:
    for target in targets or (job.last(),):
        amend(job, target, {"withdrawn": True})
    return job


def visit(*, opened: tuple[float, ...] = (100,), closed: tuple[float, ...] = (130,)) -> Job:
    """Return a visit; of several times of one line all but the last are taken back."""
    job = Job(WHOLE, scope="nipples fl", u=0, grade="told")
    for at in opened:
        job = (job if at == opened[0] else back(job)).open("fl", "p4", at, **TYPED)
    for at in closed:
        job = (job if at == closed[0] else back(job)).close("fl", at, "p4", **TYPED)
    job.read("torque", "8 N.m", 140, step="torque", pass_id="p4", nipple="fl", **TYPED)
    return job.step("cap", 150, "capped", pass_id="p4", nipple="fl", **TYPED)


def numbered(job: Job) -> dict[int, Finding]:
    return {number: found(job, number) for number in ASKED_OF_NIPPLES}


@pytest.mark.parametrize("job", [visit(opened=(105, 100)), visit(closed=(135, 130)), visit(opened=(104, 107, 100))])
def test_a_line_keyed_in_anew_at_another_time_is_no_second_opening_and_no_second_closing(job: Job) -> None:
    for number, one in numbered(job).items():
        assert one.answer == "met", (number, one.text)
        assert "no entry" not in one.text and "times" not in one.text


@pytest.mark.parametrize(("job", "closing"), [(visit(opened=(200, 100)), 4), (visit(closed=(90, 130)), 2)])
def test_a_closing_that_is_said_to_be_before_the_opening_is_told_as_that_and_not_as_none(
    job: Job, closing: int
) -> None:
    for number, one in numbered(job).items():
        assert one.answer == "no proof" and "as first written no proof (" in one.text and "as corrected met" in one.text
        assert f"entry {closing} " in one.text.partition("as corrected")[0].partition(": as first")[2], number
        assert "no entry closes" not in one.text and "no entry says that it was closed" not in one.text


def test_what_was_taken_back_and_not_keyed_in_anew_stands_as_first_written() -> None:
    job = back(visit().open("fl", "p4", 200, **TYPED))
    assert "opened 2 times" in found(job, 4).text and found(job, 4).answer == "no proof"


def test_a_run_keyed_in_anew_takes_both_its_ends_along_and_the_first_of_three_is_the_one_first_written() -> None:
    job = Job(WHOLE, scope="nipples rr", u=0, grade="told")
    body = {"pass_id": "p1", "nipples": ["rr"], "wire_command": "pump", "seconds": "20", "start": "", "stop": "",
            "peer": {}, "grade": "told"}  # fmt: skip

    def run(at: float) -> int:
        intent = job.add("intent", body, at, **TYPED)
        ended = {"actuation": intent, "pass_id": "p1", "result": "completed", "stop": "confirmed"}
        return job.add("outcome", ended, at + 20, **TYPED)

    for at in (10, 12):
        last = run(at)
        back(job, last, last - 1)
    run(14)
    job.step("not-written", 40, answer="run", pass_id="p1", **TYPED)
    kinds = [one.kind for one in as_first_written(job.entries()) if one.kind in ("intent", "outcome", "step")]
    assert kinds == ["intent", "outcome", "step"]
    first, last = (next(one for one in each if one.kind == "intent") for each in
                   (as_first_written(job.entries()), as_corrected(job.entries())))  # fmt: skip
    assert (first.seq, last.seq) == (1, 9)
    (middle,) = (one for one in as_corrected(job.entries(), frozenset({1, 2})) if one.kind == "intent")
    assert middle.seq == 5


def test_a_pass_that_was_taken_in_and_taken_back_before_anything_was_done_of_it_is_asked_for_by_nobody() -> None:
    job = visit().step("run-again", 200, act="done", pass_id="p3", **TYPED)
    assert "p3" in found(job, 4).text and found(job, 4).answer == "no proof"
    before = numbered(visit())
    for number, one in numbered(back(job)).items():
        assert (one.answer, one.text) == (before[number].answer, before[number].text)
    assert "p3" in found(back(job, job.open("fr", "p3", 210, **TYPED).last()), 4).text, "its nipple was said to be open"


def test_that_a_planned_pass_is_to_be_done_again_stands_as_first_written_where_that_was_taken_back() -> None:
    job = back(visit().step("run-again", 200, act="done", pass_id="p4", **TYPED))
    assert found(job, 4).answer == "no proof" and "p4 is to be done again" in found(job, 4).text


def test_a_closing_said_with_a_reading_is_one_closing_and_an_amount_that_adds_up_is_one_amount() -> None:
    job = Job(WHOLE, scope="nipples fl", u=0, grade="told").open("fl", "p4", 100, **TYPED)
    more = {"step": "torque", "pass_id": "p4", "nipple": "fl", "extra": {"also": ["closed", "capped"]}, **TYPED}
    job.read("torque", "8.1 N.m", 130, **more)
    back(job).read("torque", "8 N.m", 131, **more).read("volume", "900 mL", 140, pass_id="p4", **TYPED)
    back(job).read("volume", "90 mL", 140, pass_id="p4", **TYPED)
    assert found(job, 9).answer == "met" and found(job, 4).answer == "met"
    first, last = as_first_written(job.entries()), as_corrected(job.entries())
    for each, torque, volume in ((first, ["8.1", "8"], ["900"]), (last, ["8"], ["90"])):
        read = [(one.body["what"], one.body["amount"]["value"]) for one in each if one.kind == "reading"]
        assert read == [*(("torque", one) for one in torque), *(("volume", one) for one in volume)]
        assert sum("closed" in one.body.get("also", ()) for one in each) == 1


def test_what_a_card_left_empty_at_first_is_all_there_is_once_it_is_keyed_in() -> None:
    job = Job(WHOLE, scope="nipples fl", u=0, grade="told").open("fl", "p4", 100, **TYPED)
    job.step("not-written", 120, answer="close", pass_id="p4", nipple="fl", **TYPED)
    assert found(back(job).close("fl", 130, "p4", **TYPED), 9).answer == "met"


@pytest.mark.parametrize("corrected", [False, True])
def test_what_was_keyed_in_while_the_first_still_stood_is_a_second_also_where_that_is_taken_back_later(
    corrected: bool,
) -> None:
    job = Job(WHOLE, scope="nipples fl", u=0, grade="told").open("fl", "p4", 100, **TYPED)
    if corrected:
        amend(job, 1, {"said": "as I saw it"})
    job.open("fl", "p4", 104, **TYPED).close("fl", 130, "p4", **TYPED)
    one = found(back(job, 1), 4)
    assert one.answer == "no proof" and "opened 2 times" in one.text, one


@pytest.mark.parametrize("body", [{"also": None}, {"also": 5}, {"act": "opened", "pass_id": "p4", "nipple": "fl"}])
def test_an_entry_of_a_kind_that_nobody_knows_yet_stands_in_no_place(body: dict[str, object]) -> None:
    job = back(Job(WHOLE, scope="nipples fl", u=0, grade="told").open("fl", "p4", 100, **TYPED))
    later = job.add("later-kind", body, 110, **TYPED)
    job.open("fl", "p4", 104, **TYPED)
    assert [one.seq for one in as_first_written(job.entries()) if one.kind == "note"] == [job.last()]
    assert later < job.last() and found(job, 4).answer

"""Question 5, in the maker's order: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.shipped import ask


def opened(*visits: tuple[str, str, float], u: float = 1.0) -> Job:
    """Return a job whose nipples (nipple, pass, time) were opened, and closed two seconds later."""
    job = Job(scope="nipples rr,rl,fr", u=u)
    for nipple, pass_id, at in visits:
        job.open(nipple, pass_id, at).close(nipple, at + 2, pass_id)
    return job


RR, RL, FR = ("rr", "p1"), ("rl", "p2"), ("fr", "p3")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (opened((*RR, 10), (*RL, 20), (*FR, 30)), "met", "p1, p2, p3"),
        (opened((*RL, 10), (*RR, 20), (*FR, 30)), "not met", "p2 was opened before p1"),
        (opened((*RR, 10), (*RL, 20)), "no proof", "p3"),
        (opened((*RL, 10), (*RR, 20)), "not met", "p2 was opened before p1"),
        (opened((*RR, 10), (*RL, 11), (*FR, 30)), "no proof", "overlap"),
        (opened((*RR, 10), (*RL, 12), (*FR, 30)), "met", ""),
        (opened((*RR, 12), (*RL, 11), (*FR, 30)), "no proof", "overlap"),
        (opened((*RL, 10), (*RR, 20), (*RL, 30), (*FR, 40)), "met", ""),
        (opened((*FR, 5), (*RL, 10), (*RR, 20), (*RL, 30)), "not met", "p3 was opened before p1"),
        (opened(), "no proof", "p1, p2, p3"),
        (Job(scope="nipples fl"), "does not apply", "one pass"),
        (clean(), "met", "p1, p2, p3, p4"),
    ],
    ids=[
        "in order", "two swapped", "one missing", "swapped and one missing", "too near to tell", "just far enough",
        "too near the other way", "done again in order", "swapped though done again", "nothing", "one pass", "clean",
    ],
)  # fmt: skip
def test_order(job: Job, answer: str, text: str) -> None:
    finding = ask(5, job)
    assert (finding.answer, text in finding.text) == (answer, True), finding.text


def test_every_inversion_is_listed() -> None:
    finding = ask(5, opened((*FR, 10), (*RL, 20), (*RR, 30)))
    assert [one.subject for one in finding.details] == [
        "p2 was opened before p1",
        "p3 was opened before p1",
        "p3 was opened before p2",
    ]


TWO_AT_ONCE = edit(('nipples = ["rr"]', 'nipples = ["rr", "fl"]'))


@pytest.mark.parametrize(
    ("first", "second", "third", "answer"),
    [(10, 20, 30, "met"), (20, 10, 30, "met"), (10, 30, 20, "not met"), (10, 20, None, "no proof")],
    ids=["both before the next pass", "the other way round", "one of two after the next pass", "next pass missing"],
)
def test_each_nipple_of_a_pass_comes_before_the_next_pass(
    first: float, second: float, third: float | None, answer: str
) -> None:
    planned = Job(TWO_AT_ONCE, scope="follows J0 p1,p2").open("rr", "p1", first).open("fl", "p1", second)
    if third is not None:
        planned.open("rl", "p2", third)
    assert ask(5, planned).answer == answer


def test_one_of_two_nipples_of_a_pass_without_entry_is_no_proof() -> None:
    job = Job(TWO_AT_ONCE, scope="follows J0 p1,p2").open("rr", "p1", 10).close("rr", 20, "p1")
    job.open("rl", "p2", 30).close("rl", 40, "p2")
    assert [ask(number, job).answer for number in (5, 9, 10)] == ["no proof"] * 3

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


LEAKS = '[[steps_after]]\nid = "leaks"\ntext = "Dry?"\nact = "check"\naffects = "leak-check"\n\n'
BY_WIRE = """wire_command = "pump"
seconds = "20 s"
seconds_tolerance = "1 s"
order = "before"
order_tolerance = "10 s"
overlap = "90 %"
"""
BY_HAND = edit(("[pump]", f"{LEAKS}[pump]"), (BY_WIRE, ""))
NIPPLES = {"p1": "rr", "p2": "rl", "p3": "fr", "p4": "fl"}


def told(what: str, scope: str = "full") -> Job:
    """Return a job of words: `p1` opens it, `+p1` has it done again, `no` and `mend` are said; each 10 s after."""
    job = Job(BY_HAND, scope=scope)
    for at, word in enumerate(what.split(), 1):
        if word == "no":
            job.step("leaks", 10 * at, act="skipped", said="wet", looked=True)
        elif word == "mend":
            job.step("mended", 10 * at, act="confirmed", answer="the leaking part was replaced")
        elif word[0] == "+":
            job.step("run-again", 10 * at, pass_id=word[1:])
        else:
            job.open(NIPPLES[word], word, 10 * at).close(NIPPLES[word], 10 * at + 3, word)
    return job


FIRST, PLANNED = "p1 p2 p3 p4 ", "first round in the planned order: p1, p2, p3, p4; "
AGAINST = ", against the procedure's order"


@pytest.mark.parametrize(
    ("what", "answer", "text"),
    [
        (FIRST + "no mend +p1 p1", "met", PLANNED + "bled again after a mend: p1 (entry 11)"),
        (FIRST + "no +p1 p1", "met", PLANNED + "bled again after a check that was not right: p1 (entry 10)"),
        (FIRST + "no mend +p1 +p3 p1 p3", "met", "bled again after a mend: p1 (entry 11) and p3 (entry 12)"),
        (FIRST + "no mend +p3 p3 +p1 p1", "not met", PLANNED + "bled again after a mend: p1 (entry 14) and p3"),
        (FIRST + "no mend +p4 p4 +p1 p1", "not met", "p4 was opened before p1" + AGAINST),
        (FIRST + "no mend +p3 p3 no mend +p1 p1", "met", "p3 (entry 11); bled again after a mend: p1 (entry 16)"),
        (FIRST + "no mend +p1 p1 +p3 p3 +p1 p1", "no proof", "what was to be done again (p1, entry 17)"),
        (FIRST + "no mend +p1 p1 +p1 p1", "met", "bled again after a mend: p1 (entry 11)"),
        (FIRST + "no mend +p1", "no proof", "p1 (entry 11); no entry says when p1 was opened"),
        ("p2 p1 p3 p4 no mend +p1 p1 +p2 p2", "not met", "first round: planned p1, p2, p3, p4; p2 was opened"),
        ("p2 p3 p4 no mend +p1 p1", "not met", "planned p1, p2, p3, p4; p2 was opened before p1"),
        (FIRST + "+p1 p1", "no proof", "in the planned order: p1, p2, p3, p4, as first done"),
        ("p1 +p1 p1 p2 p3 p4", "met", "opened in the planned order: p1, p2, p3, p4"),
        ("p1 p2 no mend +p1 p1 p3 p4", "no proof", "p2 was opened before p1"),
    ],
)  # fmt: skip
def test_what_was_bled_again_for_a_mend_is_a_round_of_its_own(what: str, answer: str, text: str) -> None:
    finding = ask(5, told(what))
    assert (finding.answer, text in finding.text) == (answer, True), finding.text


@pytest.mark.parametrize(
    ("what", "answer", "text"),
    [
        ("p4 +p2 p2 +p1 p1", "not met", "bled besides: p1 (entry 6, taken in) and p2 (entry 3, taken in)"),
        ("p4 no mend +p1 p1 +p2 p2", "met", "order: p4; bled after a mend: p1 (entry 5, taken in) and p2"),
        ("p4 no mend +p2 p2 +p1 p1", "not met", "p2 was opened before p1" + AGAINST),
        ("p4 no mend +p2 p2 no mend +p2 p2", "met", "bled again after a mend: p2 (entry 10)"),
    ],
)  # fmt: skip
def test_what_is_taken_in_is_a_round_of_its_own(what: str, answer: str, text: str) -> None:
    finding = ask(5, told(what, "nipples fl"))
    assert (finding.answer, text in finding.text) == (answer, True), finding.text


def test_what_is_in_the_plan_and_begins_no_round_is_asked_for_in_the_first() -> None:
    job = told("p4", "nipples fl").step("run-again", 20, act="skipped", pass_id="p1")
    assert ask(5, job).text == "no entry says when p1 was opened"

"""Question 4, was every nipple served: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, serve
from tests.audit.shipped import ask


def two() -> Job:
    return Job(scope="nipples rr,rl")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (clean(), "met", "rear right, rear left"),
        (serve(two(), "p1", 100), "no proof", "p2, rear left: no entry says"),
        (serve(two(), "p1", 100).open("rl", "p2", 200), "no proof", "no entry closes it"),
        (serve(two(), "p1", 100).close("rl", 200, "p2"), "no proof", "no entry says"),
        (serve(two(), "p1", 100).step("bleed", 200, act="skipped", pass_id="p2", said="seized"), "not met", "seized"),
        (serve(serve(two(), "p1", 100), "p2", 200).step("x", 5, act="skipped", pass_id="p2"), "met", "rear left"),
        (serve(serve(two(), "p1", 100), "p1", 200), "no proof", "p2"),
        (
            serve(two(), "p1", 100).open("rl", "p2", 200).close("rl", 205, "p2").run("p2", 210, 230),
            "no proof",
            "opened, shut again before the run began",
        ),
        (
            serve(two(), "p1", 100)
            .open("rl", "p2", 200)
            .close("rl", 205, "p2")
            .run("p2", 210, 230)
            .step("nipple-missed", 240, act="skipped", pass_id="p2", nipple="rl"),
            "not met",
            "says that it was not opened while it ran",
        ),
        (
            serve(two(), "p1", 100)
            .open("rl", "p2", 200)
            .close("rl", 205, "p2")
            .run("p2", 210, 230)
            .open("rl", "p2", 220, u=10, basis="typed", entered=240)
            .close("rl", 242, "p2"),
            "met",
            "rear left",
        ),
        (clean().open("rl", "p2", 640), "no proof", "opened 2 times; of one of them no entry says that it was closed"),
        (clean().close("rl", 640, "p2"), "no proof", "closed 2 times; of one of them no entry says that it was opened"),
        (
            clean().open("rl", "p2", 640).step("not-written", 650, answer="close", pass_id="p2", nipple="rl"),
            "no proof",
            "opened 2 times; of one of them not written on the card that it was closed",
        ),
    ],
    ids=[
        "all",
        "one missing",
        "left open",
        "only closed",
        "left out",
        "left out and then done",
        "one twice",
        "shut before its run",
        "shut before its run and said so",
        "shut before its run and opened in it",
        "opened again and not closed",
        "closed again and not opened",
        "opened again and its closing not on the card",
    ],
)
def test_served(job: Job, answer: str, text: str) -> None:
    finding = ask(4, job)
    assert (finding.answer, text in finding.text) == (answer, True), finding.text


def test_a_scope_asks_only_for_its_own_nipples() -> None:
    assert ask(4, clean(scope="nipples fl")).answer == "met"


def test_what_is_cited_are_the_opening_and_the_closing() -> None:
    job = Job(scope="nipples fl").open("fl", "p4", 10).close("fl", 40, "p4")
    assert ask(4, job).cites == (1, 2)


def test_an_opening_that_was_put_off_and_never_told_is_no_proof() -> None:
    job = Job(scope="nipples rr").step("open-later", 5, act="skipped", pass_id="p1", nipple="rr", said="tight")
    assert [ask(number, job.run("p1", 10, 30)).answer for number in (4, 9, 10)] == ["no proof"] * 3


@pytest.mark.parametrize(("closed", "answer"), [(9.5, "no proof"), (10.5, "no proof"), (12, "met")])
def test_a_nipple_that_was_perhaps_shut_before_its_run_has_no_proof(closed: float, answer: str) -> None:
    job = Job(scope="nipples rr").open("rr", "p1", 5).close("rr", closed, "p1", basis="typed").run("p1", 10, 30)
    assert ask(4, job).answer == answer

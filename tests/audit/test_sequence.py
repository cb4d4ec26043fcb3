"""What was done first, where times overlap, stand the wrong way round in the journal, or were entered afterwards."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job
from tests.audit.procedures import visited, whole
from tests.audit.shipped import ask

LATER = {"basis": "typed", "u": 30.0, "entered": 400}
"""Entered long afterwards, as half a minute before or after the time given."""


def feed() -> Job:
    return whole().pressurise(0).read("feed-pressure", "2.0 bar", 95, pass_id="p4")


def opened(job: Job) -> Job:
    return job.open("fl", "p4", 100).close("fl", 130, "p4")


def torqued(**more: object) -> Job:
    job = visited().read("torque", "9 N.m", 135, pass_id="p4", nipple="fl", step="torque", **more)
    return job.step("cap", 500, "capped", pass_id="p4")


def levelled(**more: object) -> Job:
    return visited().step("pump", 200, "pedal-pumped").read("level", "500 mL", 210, step="level", **more)


@pytest.mark.parametrize(
    ("number", "job", "answer"),
    [
        (26, visited().step("leaks", 131, "leak-check").step("road", 140, "road-test"), "met"),
        (26, visited().step("leaks", 140, "leak-check", **LATER).step("road", 500, "road-test"), "no proof"),
        (26, visited().step("leaks", 170, "leak-check", **LATER).step("road", 500, "road-test"), "met"),
        (23, torqued(), "met"),
        (23, torqued(**LATER), "no proof"),
        (25, levelled(), "met"),
        (
            25,
            visited().step("pump", 200, "pedal-pumped").read("level", "500 mL", 210, step="level", **LATER),
            "no proof",
        ),
        (27, whole().open("fl", "p4", 100).scan("after", [], 140).close("fl", 120, "p4", **LATER | {"u": 5.0}), "met"),
        (27, whole().open("fl", "p4", 100).scan("after", [], 140).close("fl", 120, "p4", **LATER), "no proof"),
        (9, opened(whole().step("off", 5, "depressurise")), "met"),
        (9, visited().depressurise(50, basis="typed", entered=400), "met"),
        (9, visited().depressurise(110, basis="typed", entered=400), "not met"),
        (
            9,
            whole().depressurise(110).open("fl", "p4", 100, basis="typed", entered=120).close("fl", 130, "p4"),
            "not met",
        ),
        (9, whole().open("fl", "p4", 100).close("fl", 80, "p4", basis="typed", entered=130), "no proof"),
        (4, whole().open("fl", "p4", 100).close("fl", 80, "p4", basis="typed", entered=130), "no proof"),
        (24, visited().pressurise(1).step("off", 210, "feed-off").depressurise(200, basis="typed", entered=400), "met"),
        (24, visited().pressurise(1).step("off", 210, "feed-off").depressurise(200, **LATER), "no proof"),
        (24, visited().pressurise(1).step("off", 210, "feed-off").depressurise(300), "not met"),
        (24, visited().pressurise(1).step("off", 210, "feed-off", act="skipped", said="stuck"), "not met"),
        (
            24,
            visited().pressurise(1).depressurise(200).step("off", 210, "feed-off").step("on", 220, "feed-on"),
            "no proof",
        ),
    ],
    ids=[
        "looked a second after it was closed",
        "looked at about when it was closed, entered afterwards",
        "looked later, entered afterwards",
        "torqued",
        "torqued at about when it was closed, entered afterwards",
        "level read after the pedal",
        "level read at about when the pedal was pumped, entered afterwards",
        "closed before the scan, entered afterwards",
        "closed at about the time of the scan, entered afterwards",
        "feed off before it was opened",
        "feed off before it was opened, entered afterwards",
        "feed off while open, entered afterwards",
        "feed off while open, the opening entered afterwards",
        "closed before it was opened",
        "served, and closed before it was opened",
        "let off before the feed came off, entered afterwards",
        "let off at about when the feed came off, entered afterwards",
        "let off after the feed came off",
        "taking the feed off left out",
        "put on again",
    ],
)
def test_what_came_first_decides(number: int, job: Job, answer: str) -> None:
    finding = ask(number, job)
    assert finding.answer == answer, finding


@pytest.mark.parametrize("number", [11, 35])
@pytest.mark.parametrize(
    ("job", "answer"),
    [
        (opened(feed()), "met"),
        (opened(feed().depressurise(98, u=5.0, basis="typed")), "no proof"),
        (opened(feed().read("feed-pressure", "1.0 bar", 98, u=5.0, basis="typed")), "no proof"),
        (opened(feed().read("feed-pressure", "1.0 bar", 97)), "not met"),
        (opened(feed().depressurise(96).pressurise(97)), "no proof"),
        (opened(whole().pressurise(0).read("feed-pressure", "2.0 bar", 42, u=5.0)), "no proof"),
        (opened(whole().pressurise(0).read("feed-pressure", "2.0 bar", 46, u=5.0)), "met"),
    ],
    ids=[
        "read and open",
        "perhaps let off before",
        "perhaps read too low before",
        "read too low before",
        "let off and restored and not read again",
        "read perhaps too long before",
        "read not too long before",
    ],
)
def test_the_feed_before_a_nipple_opens(number: int, job: Job, answer: str) -> None:
    finding = ask(number, job.depressurise(500))
    assert finding.answer == answer, finding


def test_what_is_left_out_when_it_is_asked_again_is_not_done() -> None:
    job = visited().step("leaks", 140, "leak-check").step("road", 150, "road-test")
    assert ask(26, job).answer == "met"
    assert ask(26, job.step("leaks", 160, "leak-check", act="skipped", said="wet")).answer == "not met"


def test_what_made_safe_at_first_and_not_the_next_day_is_no_proof() -> None:
    job = whole().step("safe", 1, "made-safe").step("service-on", 2, "service-mode-on")
    job.open("fl", "p4", 100).close("fl", 130, "p4").step("service-off", 300, "service-mode-off")
    assert ask(36, job).answer == "met"
    assert ask(36, job.step("safe", 400, "made-safe", act="skipped", said="no stands")).answer == "no proof"

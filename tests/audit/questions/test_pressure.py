"""Question 11, under pressure throughout: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.shipped import ask

PLAIN = edit(
    ("pressure_limit", "#"),
    ('pressure = { low = "1.8 bar", high = "2.2 bar" }\npressure_age = "60 s"', ""),
)


def job() -> Job:
    return Job(scope="nipples fl").pressurise(0)


def read(amount: str, at: float = 95) -> Job:
    return job().read("feed-pressure", amount, at)


def open_close(job: Job) -> Job:
    return job.open("fl", "p4", 100).close("fl", 130, "p4")


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (open_close(read("2.0 bar")).depressurise(150), "met", ""),
        (open_close(read("29.0 psi")).depressurise(150), "met", ""),
        (open_close(read("2.0 bar")), "no proof", "until when it held"),
        (open_close(read("2.0 bar")).read("feed-pressure", "1.9 bar", 140), "met", ""),
        (open_close(read("1.2 bar")), "not met", "1.2 bar read before it opened, asked 1.8 bar to 2.2 bar"),
        (open_close(read("2.9 bar")), "not met", "2.9 bar read"),
        (open_close(read("1.2 bar", 80).pressurise(90)), "no proof", "restored then and not read again"),
        (open_close(read("2.0 bar", 20)), "no proof", "more than 60 s before"),
        (open_close(job()), "no proof", "no reading"),
        (open_close(job()).read("feed-pressure", "2.0 bar", 140), "no proof", "no reading"),
        (open_close(read("2.0 bar").depressurise(97.5)), "not met", "had been let off"),
        (read("2.0 bar").open("fl", "p4", 100).depressurise(110).close("fl", 130, "p4"), "not met", "while it was"),
        (read("2.0 bar").open("fl", "p4", 100).depressurise(130).close("fl", 130, "p4"), "no proof", "may have been"),
        (open_close(read("2.0 bar")).depressurise(140), "met", ""),
        (
            read("2.0 bar").open("fl", "p4", 100).read("feed-pressure", "1.2 bar", 110).close("fl", 130, "p4"),
            "not met",
            "1.2 bar read while open",
        ),
        (open_close(read("2.0 bar")).read("feed-pressure", "1.2 bar", 140), "no proof", "nobody saw when it fell"),
        (open_close(read("2.0 bar")).pressurise(135).read("feed-pressure", "1.2 bar", 140), "met", ""),
        (read("2.0 bar").open("fl", "p4", 100), "no proof", "no entry closes it"),
        (read("2.0 bar"), "no proof", "no entry says when it was open"),
        (Job(PLAIN), "does not apply", "no feed pressure"),
        (clean(), "met", ""),
    ],
    ids=[
        "in the band", "in another unit", "nothing afterwards",
        "still there after", "too low", "too high", "restored and not read",
        "read too long before", "not read", "read only after", "let off before", "let off while open",
        "let off about when closed", "let off after", "read low while open", "low after", "restored and low after",
        "not closed", "not opened", "not asked", "clean",
    ],
)  # fmt: skip
def test_pressure(job: Job, answer: str, text: str) -> None:
    finding = ask(11, job)
    assert (finding.answer, text in finding.text) == (answer, True), finding


def bled_at(first: str, again: str) -> Job:
    """Return a job whose last pass was bled at one reading, and again at another."""
    redone = open_close(read(first)).depressurise(150).step("run-again", 200, pass_id="p4").pressurise(290)
    return redone.read("feed-pressure", again, 295).open("fl", "p4", 300).close("fl", 330, "p4").depressurise(350)


@pytest.mark.parametrize("number", [11, 35])
def test_a_pass_that_was_done_again_at_its_pressure_is_named_beside_what_stands_against_it(number: int) -> None:
    found = ask(number, bled_at("1.7 bar", "2.0 bar"))
    said = "1.7 bar read before it opened, asked 1.8 bar to 2.2 bar; opened again for it at 2.0 bar (entry 9)"
    assert (found.answer, found.details[0].text) == ("not met", said) and {8, 9} <= {*found.cites}
    assert "opened again" not in ask(number, bled_at("1.7 bar", "1.6 bar")).text
    assert "opened again" not in ask(number, bled_at("2.0 bar", "1.7 bar")).text

"""Questions 12, 13 and 35, the feed's pressure: each of their answers from a small timeline."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.procedures import whole
from tests.audit.shipped import ask

PLAIN = edit(
    ("pressure_limit", "#"),
    ('pressure = { low = "1.8 bar", high = "2.2 bar" }\npressure_age = "60 s"', ""),
)


def read(job: Job, *readings: tuple[str, float]) -> Job:
    for amount, at in readings:
        job.read("feed-pressure", amount, at, instrument="gauge 1")
    return job


def two() -> Job:
    return Job(scope="nipples rr,rl")


def two_gauges(first: str, second: str, later: str, *, moved: bool = False) -> Job:
    """Return a job in which the feed was read with two instruments, or in two bays, and not touched between."""
    job = whole().read("feed-pressure", "2.0 bar", 10, instrument=first)
    if moved:
        job.reboot().add("moved", {"count": 2, "head": "00" * 32, "origin": "bay2"}, 20)
    return job.read("feed-pressure", later, 70, instrument=second)


FL = Job(scope="nipples fl")


def put_on_after_it_was_read(*, read: str = "", basis: str = "touch") -> Job:
    """Return a job of one pass before which the feed was put under pressure once more, and read again or not."""
    job = Job(scope="nipples fl").pressurise(0).read("feed-pressure", "2.0 bar", 90).pressurise(92, basis=basis)
    if read:
        job.read("feed-pressure", read, 95)
    return job.open("fl", "p4", 100).close("fl", 130, "p4").read("feed-pressure", "2.0 bar", 140)


def in_one_minute() -> Job:
    """Return a job of one pass keyed in from a card: its feed was read and its nipple opened in the same minute."""
    at: dict[str, Any] = {"basis": "typed", "u": 30}
    return Job(scope="nipples fl").read("feed-pressure", "2.0 bar", 100, **at).open("fl", "p4", 100, **at)


def shut_alone(job: Job | None = None) -> Job:
    """Return a job of two passes: of the first only the closing is written, the second is done as it should be."""
    job = job or two()
    job.step("not-written", 100, act="confirmed", answer="open", pass_id="p1", nipple="rr").close("rr", 130, "p1")
    job.read("feed-pressure", "2.0 bar", 295, pass_id="p2").open("rl", "p2", 300).run("p2", 304, 324)
    return job.close("rl", 330, "p2")


def opened_again(*, off: bool = False, read: str = "") -> Job:
    """Return a job of one pass that was opened twice, the first time as it should be."""
    job = Job(scope="nipples fl").pressurise(0).read("feed-pressure", "2.0 bar", 95)
    job.open("fl", "p4", 100).close("fl", 130, "p4")
    if off:
        job.depressurise(140)
    if read:
        job.read("feed-pressure", read, 195, pass_id="p4")
    return job.open("fl", "p4", 200).close("fl", 230, "p4")


@pytest.mark.parametrize(
    ("number", "job", "answer", "text"),
    [
        (12, FL, "does not apply", "does not limit"),
        (12, read(whole(), ("2.0 bar", 10), ("1.8 bar", 70)), "met", "no more than allowed"),
        (12, read(whole(), ("2.0 bar", 10), ("1.6 bar", 70)), "not met", "0.40 bar a minute"),
        (12, read(whole(), ("2.0 bar", 10), ("24.0 psi", 70)), "not met", "24.0 psi"),
        (12, read(whole(), ("1.8 bar", 10), ("2.0 bar", 70)), "met", "risen 0.20 bar a minute"),
        (12, read(read(whole(), ("2.0 bar", 10)).pressurise(40), ("1.6 bar", 70)), "no proof", "touched between"),
        (12, two_gauges("gauge 1", "gauge 2", "1.6 bar"), "no proof", "never read twice with one gauge"),
        (12, two_gauges("gauge 1", "gauge 1", "1.6 bar"), "not met", "0.40 bar a minute"),
        (12, two_gauges("gauge 1", "gauge 1", "1.6 bar", moved=True), "no proof", "never read twice with one gauge"),
        (12, two_gauges("", "", "1.9 bar"), "no proof", "with which instrument is not said"),
        (12, two_gauges("", "gauge 1", "1.9 bar"), "no proof", "with which instrument is not said"),
        (12, two_gauges("", "", "0.2 bar"), "no proof", "with which instrument is not said"),
        (12, whole(), "no proof", "never read twice"),
        (12, read(whole(), ("2.0 bar", 10), ("0.2 bar", 70), ("1.9 bar", 75)), "no proof", "at once read again as 1.9"),
        (12, read(whole(), ("2.0 bar", 10), ("1.0 bar", 70), ("1.1 bar", 75)), "not met", "1.0 bar"),
        (13, Job(PLAIN), "does not apply", "no highest"),
        (13, read(Job(scope="nipples fl"), ("2.5 bar", 10)).open("fl", "p4", 20), "met", "above 2.5 bar"),
        (13, read(Job(scope="nipples fl"), ("2.5 bar", 10)), "no proof", "p4: no entry of what was done"),
        (
            13,
            read(Job(scope="nipples fl"), ("2.5 bar", 10)).step(
                "bleed", 20, act="skipped", pass_id="p4", said="seized"
            ),
            "met",
            "above 2.5 bar",
        ),
        (13, Job(scope="nipples fl").read("feed-pressure", "2.0 bar", 10, pass_id="p4"), "met", "above 2.5 bar"),
        (13, read(two(), ("2.0 bar", 10)).open("rr", "p1", 20), "no proof", "p2: no entry of what was done"),
        (13, read(Job(), ("2.0 bar", 10), ("2.6 bar", 20)), "not met", "2.6 bar read, at most 2.5 bar"),
        (13, read(Job(), ("37 psi", 10)), "not met", "37 psi"),
        (13, read(Job(), ("2.0 bar", 10)).pressurise(20), "no proof", "put under pressure, and no reading"),
        (
            13,
            read(Job(scope="nipples fl").pressurise(5), ("2.0 bar", 10)).open("fl", "p4", 12).depressurise(20),
            "met",
            "",
        ),
        (13, read(Job(), ("2.0 bar", 10)).open("rr", "p1", 20).open("rl", "p2", 60), "no proof", "for this pass"),
        (13, shut_alone(), "no proof", "no reading of the feed for this pass"),
        (13, read(shut_alone(), ("2.0 bar", 140)), "no proof", "no reading of the feed for this pass"),
        (13, shut_alone(read(two(), ("2.0 bar", 10))), "met", ""),
        (13, Job(), "no proof", "no reading"),
        (35, Job(PLAIN), "does not apply", "no pressure before"),
        (35, clean(), "met", "before each pass"),
        (35, Job(scope="nipples fl").read("feed-pressure", "2.0 bar", 95).open("fl", "p4", 100), "met", ""),
        (35, Job(scope="nipples fl").read("feed-pressure", "1.7 bar", 95).open("fl", "p4", 100), "not met", "1.7 bar"),
        (
            35,
            Job(scope="nipples fl").read("feed-pressure", "2.0 bar", 20).open("fl", "p4", 100),
            "no proof",
            "60 s before",
        ),
        (35, Job(scope="nipples fl").open("fl", "p4", 100), "no proof", "no reading"),
        (35, in_one_minute(), "no proof", "2.0 bar read; whether that was before it opened is within the uncertainty"),
        (35, read(two(), ("2.0 bar", 95)).open("rr", "p1", 100).open("rl", "p2", 120), "no proof", "opened since"),
        (
            35,
            read(read(two(), ("2.0 bar", 95)).open("rr", "p1", 100), ("1.9 bar", 115)).open("rl", "p2", 120),
            "met",
            "",
        ),
        (35, Job(scope="nipples fl").read("feed-pressure", "2.0 bar", 95), "no proof", "no entry says when"),
        (35, opened_again(), "no proof", "60 s before"),
        (35, put_on_after_it_was_read(), "no proof", "under pressure since, and it was not read again"),
        (11, put_on_after_it_was_read(), "no proof", "under pressure since, and it was not read again"),
        (11, put_on_after_it_was_read(basis="typed"), "no proof", "under pressure since"),
        (35, put_on_after_it_was_read(read="2.0 bar"), "met", ""),
        (11, put_on_after_it_was_read(read="2.0 bar"), "met", ""),
        (35, opened_again(off=True), "not met", "let off"),
        (35, opened_again(read="1.7 bar"), "not met", "1.7 bar"),
        (35, opened_again(read="2.0 bar"), "met", ""),
    ],
)
def test_feed(number: int, job: Job, answer: str, text: str) -> None:
    finding = ask(number, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding

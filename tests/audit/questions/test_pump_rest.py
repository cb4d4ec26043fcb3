"""Question 17, the pump's running times: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import MAP, Job, clean, edit
from tests.audit.shipped import ask

WINDOW = edit(('rest = "20 s"', 'rest = "20 s"\non_time = "50 s"\nwindow = "120 s"'))
NO_PUMP = edit(('[pump]\nlongest_run = "30 s"\nrest = "20 s"', ""))


def job(**more: object) -> Job:
    return Job(scope="nipples rr,rl,fr", **more)  # type: ignore[arg-type]


def two(**more: object) -> Job:
    return Job(scope="nipples rr,rl", **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (two().run("p1", 10, 30).run("p2", 60, 80), "met", "30.0 s of rest after p1"),
        (two().run("p1", 10, 40).run("p2", 100, 120), "met", "at most 30.0 s"),
        (two().run("p1", 10, 40), "no proof", "no entry of a run of pump"),
        (job().run("p1", 10, 41), "not met", "ran 31.0 s; at most 30.0 s allowed"),
        (job().run("p1", 10, 30).run("p2", 59, 79), "not met", "29.0 s of rest after p1; at least 30.0 s asked"),
        (two(protocol_map=None).run("p1", 10, 30).run("p2", 50, 70), "met", "at least 20.0 s"),
        (job(protocol_map=None).run("p1", 10, 30).run("p2", 49, 69), "not met", "at least 20.0 s"),
        (
            job().run("p1", 10, 18, result="unknown", stop="unknown", stop_answer="silence"),
            "no proof",
            "at least 8.0 s;",
        ),
        (job().run("p1", 10, None, answer="silence"), "no proof", "nothing says"),
        (job(), "no proof", "no entry"),
        (job(grade="told").run("p1", 10, 30).run("p2", 61, 81), "no proof", "29.0 to 33.0 s of rest"),
        (Job(WINDOW).run("p1", 10, 30).run("p2", 60, 80).run("p3", 110, 130), "not met", "60.0 s within 120 s"),
        (Job(WINDOW).run("p1", 10, 30).run("p2", 60, 80).run("p3", 180, 200), "met", "40.0 s within 120 s"),
        (Job(NO_PUMP, protocol_map=None).run("p1", 10, 30), "does not apply", "limits"),
        (Job(NO_PUMP, protocol_map=MAP).run("p1", 10, 71), "not met", "at most 60.0 s"),
        (Job(scope="nipples fl"), "does not apply", "no pass"),
        (clean(), "met", ""),
    ],
)
def test_pump_rest(job: Job, answer: str, text: str) -> None:
    finding = ask(17, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding

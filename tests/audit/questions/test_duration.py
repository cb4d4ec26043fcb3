"""Question 16, long enough: each of its answers from a small timeline."""

from __future__ import annotations

import pytest
from tests.audit.jobs import NS, Job, clean
from tests.audit.shipped import ask


def job(**more: object) -> Job:
    return Job(scope="nipples rr", **more)  # type: ignore[arg-type]


def without(purpose: str) -> Job:
    """Return a run of 15 s, of 20 asked, whose outcome is in the record and one of its exchanges is not."""
    return job().run("p1", 10, 25, leave_out=purpose)


def told_otherwise(seconds: int) -> Job:
    """Return a run of 20 s whose outcome gives another end than the control unit's answer."""
    one = job().run("p1", 10, 30)
    body = one.entries()[-1].body
    body["to_mono"] = str(int(body["to_mono"]) + seconds * NS)
    return one


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (job().run("p1", 10, 30), "met", "ran 20.0 s by the control unit's answers"),
        (job().run("p1", 10, 29), "met", "ran 19.0 s"),
        (job().run("p1", 10, 28.9), "not met", "ran 18.9 s"),
        (
            job().run("p1", 10, 50),
            "met",
            "procedure asks; p1: pump ran 40.0 s by the control unit's answers, asked 20 s",
        ),
        (job().run("p1", 10, 50), "met", "within 1 s; longer than asked"),
        (job().run("p1", 10, 18, result="stopped"), "not met", "ran 8.0 s"),
        (
            job().run("p1", 10, 18, result="unknown", stop="unknown", stop_answer="silence"),
            "no proof",
            "at least 8.0 s",
        ),
        (job().run("p1", 10, 30, result="unknown", stop="unknown", stop_answer="silence"), "met", "at least 20.0 s"),
        (job().run("p1", 10, None, outcome=False), "no proof", "ran a time that is not known"),
        (job().run("p1", 10, None, answer="negative", code="22"), "not met", "refused"),
        (job().run("p1", 10, None, answer="silence"), "no proof", "nothing says whether"),
        (job(), "no proof", "no entry of a run"),
        (job(grade="told").run("p1", 10, 32), "met", "20.0 to 24.0 s"),
        (without("start"), "no proof", "nothing says whether"),
        (without("stop"), "no proof", "at least 15.0 s"),
        (told_otherwise(-12), "no proof", "8.0 to 20.0 s"),
        (job().run("p1", 10, 18, result="stopped").run("p1", 50, 70), "met", "1 other attempt"),
        (job(grade="told").run("p1", 10, 31), "met", "19.0 to 23.0 s as a person told it"),
        (job(grade="told").run("p1", 10, 30), "no proof", "18.0 to 22.0 s"),
        (job(grade="told").run("p1", 10, 26), "not met", "14.0 to 18.0 s"),
        (job(grade="told").run("p1", 10, 35, result="stopped"), "no proof", "said to have ended before its time"),
        (job(grade="told").run("p1", 10, 26, result="stopped"), "not met", "14.0 to 18.0 s"),
        (Job(scope="nipples fl"), "does not apply", "no pass"),
        (clean(), "met", ""),
    ],
)
def test_duration(job: Job, answer: str, text: str) -> None:
    finding = ask(16, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


def redone(second: str) -> Job:
    """Return a run of 4 s that was cut short, was to be done again, and was asked for once more."""
    one = job(grade="told" if second == "never" else "sent").run("p1", 10, 14, result="stopped")
    one.step("run-again", 20, pass_id="p1")
    if second == "silence":
        return one.run("p1", 30, None, answer="silence")
    return one.run("p1", 30, 34, result=second, answer="negative", code="22")


@pytest.mark.parametrize("number", [6, 16])
@pytest.mark.parametrize(
    ("second", "answer", "said"),
    [
        ("never", "not met", "pump was said not to have started; 1 earlier attempt ran (entry 1)"),
        ("refused", "not met", "pump was refused; 1 earlier attempt ran (entry 1)"),
        ("silence", "no proof", "nothing says whether pump ran; 1 earlier attempt ran (entry 1)"),
    ],
)
def test_an_attempt_that_did_not_run_takes_nothing_from_one_before_it_that_did(
    number: int, second: str, answer: str, said: str
) -> None:
    detail = ask(number, redone(second)).details[0]
    assert detail.answer == answer and said in detail.text and 1 in detail.cites, detail


def test_on_a_told_job_nothing_was_sent_that_could_have_been_stopped() -> None:
    for number in (7, 6, 16):
        text = ask(number, job(grade="told").run("p1", 10, 14, result="never")).text
        assert "pump was said not to have started" in text and "sent" not in text and "never" not in text, text

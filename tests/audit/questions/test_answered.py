"""Question 18, what the control unit answered: each of its answers from a small timeline."""

from __future__ import annotations

import msgspec
import pytest
from tests.audit.jobs import Job, clean
from tests.audit.shipped import ask

from witnessmark.journal import bodies


def job(**more: object) -> Job:
    return Job(scope="nipples rr", **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (job().run("p1", 10, 30), "met", "start answered, stop answered"),
        (job().run("p1", 10, 30, pending=3), "met", "start answered after 3 x 0x78"),
        (job().run("p1", 10, 30, shows_pending=False), "met", "0x78 was not visible"),
        (job().run("p1", 10, None, answer="negative", code="22"), "not met", "22 conditionsNotCorrect"),
        (job().run("p1", 10, None, answer="silence"), "no proof", "silence is not success"),
        (job().run("p1", 10, 30, stop="unknown", stop_answer="silence"), "no proof", "silence is not success"),
        (job().run("p1", 10, 30, stop="not sent"), "no proof", "no answer to a stop"),
        (job().run("p1", 10, 15, result="failed", stop="not sent"), "not met", "ended by itself"),
        (job().run("p1", 10, None, outcome=False), "no proof", "no answer to a stop"),
        (job(grade="told").run("p1", 10, 30), "no proof", "a person told"),
        (job(), "no proof", "no entry of a run"),
        (job().run("p1", 5, None, answer="negative", code="22").run("p1", 10, 30), "met", "start answered"),
        (Job(scope="nipples fl"), "does not apply", "no pass"),
        (clean(), "met", ""),
    ],
)
def test_answered(job: Job, answer: str, text: str) -> None:
    finding = ask(18, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


def without_answers(purpose: str, payload: str = "") -> Job:
    """Return a run whose start or stop is recorded as answered, with no raw answer beside it, or with these bytes."""
    made = job().run("p1", 10, 30)
    for place, entry in enumerate(made.entries()):
        body = bodies.from_body(entry.kind, entry.body) if entry.kind == "exchange" else None
        if isinstance(body, bodies.ExchangeBody) and body.purpose == purpose:
            answers = tuple(msgspec.structs.replace(one, payload=payload) for one in body.answers if payload)
            plain = bodies.to_body(msgspec.structs.replace(body, answers=answers))
            made._made[place] = msgspec.structs.replace(entry, body=plain)
    return made


@pytest.mark.parametrize(
    ("job", "text"),
    [
        (without_answers("start"), "start answered: so the record says, and no raw answer lies beside it"),
        (without_answers("stop"), "stop answered: so the record says, and no raw answer lies beside it"),
        (without_answers("start", "7F3122"), "the raw answer 7F3122 is not a positive one"),
    ],
)
def test_a_result_without_its_raw_answer_is_no_proof_and_says_what_it_rests_on(job: Job, text: str) -> None:
    finding = ask(18, job)
    assert (finding.answer, text in finding.text) == ("no proof", True), finding

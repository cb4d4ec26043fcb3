"""What is said to be mended at a check that was not right: what was opened is bled, what was tightened torqued."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.audit.jobs import Job, clean, edit
from tests.audit.shipped import ask

from witnessmark.procedure.mending import BLED, NOTHING, REPLACED, TIGHTENED

CHECKED = edit(
    ("[pump]", '[[steps_after]]\nid = "leaks"\ntext = "Dry?"\nact = "check"\naffects = "leak-check"\n\n[pump]')
)


def no(job: Job, at: float) -> Job:
    return job.step("leaks", at, act="skipped", said="wet", looked=True)


def mended(job: Job, what: str, at: float, **place: str) -> Job:
    job.step("mended", at, act="confirmed", answer=what)
    return job.step("mended-at", at + 2, act="confirmed", **place) if place else job


def replaced() -> Job:
    """Return a job whose leaking part of circuit one was replaced at 720 s."""
    return mended(no(clean(CHECKED), 700), REPLACED, 720, answer="one")


@pytest.mark.parametrize(
    ("bled", "what", "place", "answer"),
    [
        (False, TIGHTENED, {"nipple": "rr"}, "no proof"),
        (False, NOTHING, {}, "no proof"),
        (True, TIGHTENED, {"nipple": "rr"}, "met"),
        (True, NOTHING, {}, "no proof"),
    ],
)
def test_a_circuit_opened_for_a_mend_after_an_earlier_no_is_no_proof_until_it_is_bled(
    bled: bool, what: str, place: dict[str, str], answer: str
) -> None:
    job = replaced()
    job = job.open("fl", "p4", 800).close("fl", 830, "p4") if bled else job
    job = mended(no(job, 900), what, 920, **place).step("leaks", 1000, "leak-check", act="confirmed")
    finding = ask(26, job)
    assert (finding.answer, "circuit one not bled after that" in finding.text) == (answer, not bled), finding.text


@pytest.mark.parametrize(
    ("bleed", "answer"),
    [
        (lambda job: job.open("rr", "p1", 800).run("p1", 804, 824).close("rr", 830, "p1"), "met"),
        (lambda job: job.open("fl", "p4", 800).close("fl", 830, "p4"), "met"),
        (lambda job: job.open("rr", "p1", 800).close("rr", 803, "p1").run("p1", 850, 870), "no proof"),
        (lambda job: job.run("p1", 780, 800).open("rr", "p1", 830).close("rr", 833, "p1"), "no proof"),
        (lambda job: job.run("p1", 804, 824).open("rr", "p1", 823).close("rr", 833, "p1"), "no proof"),
        (
            lambda job: job.open("rr", "p1", 800).run("p1", 804, 806, result="stopped").close("rr", 830, "p1"),
            "no proof",
        ),
        (lambda job: job.open("rr", "p1", 800).run("p2", 804, 824).close("rr", 830, "p1"), "no proof"),
        (lambda job: job.open("rr", "p1", 800).close("rr", 830, "p1"), "no proof"),
        (lambda job: job.open("rr", "", 800).close("rr", 830), "no proof"),
        (lambda job: job.open("rl", "p2", 800).run("p2", 804, 824).close("rl", 830, "p2"), "no proof"),
    ],
    ids=[
        "open while it ran",
        "needs no run",
        "shut before it ran",
        "opened after it ran",
        "open at its end only",
        "stopped",
        "another pass ran",
        "no run",
        "of no pass",
        "another circuit",
    ],
)
@pytest.mark.parametrize("what", [REPLACED, BLED])
def test_a_circuit_is_bled_where_its_nipple_was_open_as_its_pass_asks(
    bleed: Callable[[Job], Job], answer: str, what: str, request: pytest.FixtureRequest
) -> None:
    job = bleed(replaced() if what == REPLACED else no(clean(CHECKED), 700))
    job = job if what == REPLACED else mended(job, BLED, 900)
    finding = ask(26, job.step("leaks", 1000, "leak-check", act="confirmed"))
    any_circuit = what == BLED and request.node.callspec.id.endswith("another circuit")
    assert finding.answer == ("met" if any_circuit else answer), finding.text

"""What made it safe to open, was undone behind the passes and not done again vouches for no opening after that."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.procedures import STEPS
from tests.audit.shipped import ask

from witnessmark.procedure.mending import BLED, NOTHING, REPLACED, TIGHTENED

LET_OFF = """
[[steps_before]]
id = "let-off"
text = "Let it off and read it"
act = "read"
what = "stored-pressure"
unit = "bar"
limit = { high = "3 bar" }
caution = "It presses by itself."
"""
PRESSED = edit(("[pump]", f"{LET_OFF}{STEPS}[pump]"))
AGAIN = {"let-off": 210, "safe": 202, "service-on": 204}


def bled() -> Job:
    """Return a job whose nipple was opened and closed, every step before and none behind the passes done."""
    return started().close("fl", 130, "p4")


def started() -> Job:
    """Return the same job with its nipple still open."""
    job = Job(PRESSED, scope="nipples fl").step("safe", 1, "made-safe").step("service-on", 2, "service-mode-on")
    return job.read("stored-pressure", "1 bar", 3, step="let-off").open("fl", "p4", 100)


def made_safe(job: Job, *without: str, **at: float) -> Job:
    moments = AGAIN | at
    if "safe" not in without:
        job.step("safe", moments["safe"], "made-safe")
    if "service-on" not in without:
        job.step("service-on", moments["service-on"], "service-mode-on")
    if "let-off" not in without:
        job.read("stored-pressure", "1 bar", moments["let-off"], step="let-off")
    return job


def reopened(job: Job) -> str:
    """Return what is said of a job whose nipple is opened once more at 300 s, and left as it must be after that."""
    job.open("fl", "p4", 300).close("fl", 330, "p4").step("service-off", 400, "service-mode-off")
    finding = ask(36, job)
    return "" if finding.answer == "met" else f"{finding.answer}: {finding.text}"


def undone(word: str, **more: Any) -> Job:
    return bled().step("undoing", 200, word, **more)


def test_a_nipple_that_is_opened_again_with_nothing_undone_needs_nothing_more() -> None:
    assert reopened(bled()) == ""


@pytest.mark.parametrize("word", ["service-mode-off", "wheels-torqued", "road-test"])
def test_all_that_was_undone_and_done_again_is_met(word: str) -> None:
    assert reopened(made_safe(undone(word))) == ""


@pytest.mark.parametrize(
    ("word", "without", "names"),
    [
        ("service-mode-off", "service-on", "Enter the service mode: undone (entry 6)"),
        ("service-mode-off", "let-off", "stored pressure: undone (entry 6)"),
        ("service-mode-off", "safe", ""),
        ("wheels-torqued", "safe", "Set supports: undone (entry 6)"),
        ("wheels-torqued", "let-off", "stored pressure: undone (entry 6)"),
        ("wheels-torqued", "service-on", ""),
        ("road-test", "safe", "Set supports: undone (entry 6)"),
    ],
)
def test_what_was_undone_and_not_done_again_is_no_proof(word: str, without: str, names: str) -> None:
    said = reopened(made_safe(undone(word), without))
    assert (names in said and said.startswith("no proof: p4, front left: ")) if names else said == ""


def test_wheels_that_were_torqued_are_on() -> None:
    job = bled().read("wheel-torque", "180 N.m", 200, step="wheels")
    assert "Set supports: undone (entry 6)" in reopened(made_safe(job, "safe"))


def test_what_was_left_out_undoes_nothing_and_makes_nothing_safe() -> None:
    assert reopened(undone("service-mode-off", act="skipped", said="no key")) == ""
    job = made_safe(undone("service-mode-off"), "service-on").step("service-on", 204, act="skipped", said="no key")
    assert "Enter the service mode" in reopened(job)


def test_what_was_said_afterwards_to_have_been_before_the_undoing_vouches_for_nothing() -> None:
    assert "stored pressure: undone (entry 6)" in reopened(made_safe(undone("service-mode-off"), **{"let-off": 150}))


def left_out(job: Job, *, read: str = "", opened: bool = False) -> tuple[str, str, tuple[int, ...]]:
    """Return what is said of the reading when it was left out as it was asked again, and read after that."""
    job.step("let-off", 210, "", act="skipped", said="no time")
    if opened:
        job.open("fl", "p4", 212).close("fl", 214, "p4")
    if read:
        job.read("stored-pressure", read, 216, step="let-off")
    one = next(each for each in ask(36, job).details if each.subject == "stored pressure")
    return one.answer, one.text, one.cites


def test_what_was_left_out_as_it_was_asked_again_and_read_after_that_was_read() -> None:
    said = "read: 2 bar; left out: no time (entry 6), and done after that (entry 7)"
    assert left_out(bled(), read="2 bar") == ("met", said, (3, 4, 6, 7))
    again = "done, and left out when it was asked again: no time"
    assert left_out(bled()) == ("no proof", again, (3, 4, 6))
    assert left_out(bled(), read="2 bar", opened=True) == ("no proof", again, (3, 4, 6))


def slipped(work: str) -> str:
    """Return what is said of supports that were seen not right at 150 s and right at 300 s, with `work` between."""
    job = bled() if work != "open meanwhile" else started()
    job.step("safe", 150, "", act="skipped", said="a stand has slipped", looked=True)
    if work == "open meanwhile":
        job.run("p4", 160, 180).close("fl", 190, "p4")
    elif work == "run":
        job.run("p4", 160, 180)
    elif work == "mended":
        job.step("mended", 200, act="confirmed", answer=REPLACED)
    job.step("safe", 300, "made-safe").step("service-off", 400, "service-mode-off")
    if work == "keyed in later":
        job.open("fl", "p4", 200, basis="typed", entered=900.0).close("fl", 220, "p4", basis="typed", entered=901.0)
    return next(one.answer for one in ask(36, job).details if one.subject == "Set supports")


@pytest.mark.parametrize("work", ["open meanwhile", "run", "mended", "keyed in later"])
def test_supports_seen_not_right_are_right_again_only_where_no_work_was_done_between(work: str) -> None:
    assert slipped("") == "met"
    assert slipped(work) == "no proof"


def mended(job: Job, *safe: str, what: str = TIGHTENED) -> str:
    """Return what is said of a job in which something was mended at 300 s, with what was then said of its safety."""
    job.step("mended", 300, act="confirmed", answer=what)
    for at, answer in enumerate(safe, 302):
        job.step("was-made-safe", at, act="confirmed", answer=answer)
    finding = ask(36, job.step("service-off", 400, "service-mode-off"))
    return f"{finding.answer}: {finding.text}"


def test_what_was_mended_where_nothing_was_undone_needs_nothing_more() -> None:
    assert mended(bled()).startswith("met")


@pytest.mark.parametrize("what", [TIGHTENED, REPLACED, ""])
def test_what_was_mended_after_the_service_mode_was_left_is_held_to_what_makes_safe(what: str) -> None:
    said = mended(undone("service-mode-off"), what=what)
    assert "mended (entry 7): Enter the service mode and mended (entry 7): stored pressure: undone (entry 6)" in said
    assert said.endswith("no entry says that it was done again before it was mended")
    assert mended(made_safe(undone("service-mode-off")), what=what).startswith("met")


@pytest.mark.parametrize("pass_id", ["", "p4"])
def test_what_is_read_before_each_pass_may_be_read_of_none_or_of_any_before_a_mend(pass_id: str) -> None:
    each = edit(("[pump]", f"{LET_OFF.replace('steps_before', 'steps_before_each_pass')}[pump]"))
    job = Job(each, scope="nipples fl").read("stored-pressure", "1 bar", 3, step="let-off", pass_id="p4")
    job.open("fl", "p4", 100).close("fl", 130, "p4").step("undoing", 200, "service-mode-off")
    assert mended(job.read("stored-pressure", "1 bar", 210, step="let-off", pass_id=pass_id)).startswith("met")


@pytest.mark.parametrize("what", [BLED, NOTHING])
def test_what_puts_no_hand_to_a_joint_is_not_asked_for_it(what: str) -> None:
    assert mended(undone("service-mode-off"), what=what).startswith("met")


def test_what_a_person_says_afterwards_of_a_mend_counts_as_told_and_the_last_word_of_it() -> None:
    assert mended(undone("service-mode-off"), "no", "yes").startswith("met")
    said = mended(undone("service-mode-off"), "yes", "no")
    assert said.startswith("not met: mended (entry 7)") and said.endswith("says that it was not made safe first")
    said = mended(undone("service-mode-off"), "not known")
    assert said.startswith("no proof: mended (entry 7)") and "nobody knows whether it was made safe" in said
    details = ask(36, mended_job("yes")).details
    assert any(one.answer == "met" and one.text.startswith("told: ") for one in details)
    assert ask(36, mended_job("yes")).text == (
        "made safe before the first nipple was opened, service modes left after the last was closed; "
        "mended (entry 7): told: t-otter says that it was made safe first"
    )


def mended_job(answer: str) -> Job:
    job = undone("service-mode-off").step("mended", 300, act="confirmed", answer=TIGHTENED)
    return job.step("was-made-safe", 302, act="confirmed", answer=answer).step("service-off", 400, "service-mode-off")

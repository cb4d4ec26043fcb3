"""What a tag says was seen: all that is not put right, the newest first, and what was put right as far as it fits."""

from __future__ import annotations

from typing import Any

from tests.audit.jobs import Job, clean, edit
from tests.report.test_facts import of
from tests.report.test_papers import opened
from tests.report.test_sheet import Page

from witnessmark.procedure.mending import TIGHTENED
from witnessmark.report.kept import Beside
from witnessmark.report.statement import MOST_ON_TAG, _accepted, tag

CHECK = '[[steps_after]]\nid = "{0}"\ntext = "{0}?"\nact = "check"\naffects = "{1}"\n\n'
CHECKS = edit(("[pump]", CHECK.format("tight", "leak-check") + CHECK.format("firm", "pedal-check") + "[pump]"))


def checked(*noes: tuple[str, str]) -> Job:
    """Return a job at whose end each check, in this order, was looked at and not right."""
    job = clean(CHECKS)
    for at, (step, said) in enumerate(noes):
        job.step(step, 700 + at, act="skipped", said=said, looked=True)
    return job


def what(job: Job, **more: Any) -> str:
    return next(str(one["seen"]) for one in of(job, **more)["open"] if one["title"].startswith("Leak check"))


def test_what_is_open_is_named_the_newest_first_and_never_cut() -> None:
    long = "it weeps at the joint of the hose, " * 4
    assert what(checked(("tight", long), ("firm", "it sinks"))) == f"it sinks; {long}"


def test_words_are_measured_as_they_are_shown() -> None:
    marks = {f"commitment:{one * 64}": words for one, words in (("a", "it leaks"), ("b", "it sinks"))}
    first, last = marks

    def say(body: Any) -> Any:
        return marks.get(body, body) if isinstance(body, str) else body

    assert what(checked(("tight", first), ("firm", last)), beside=Beside(say)) == "it sinks; it leaks"


def test_what_was_put_right_is_said_to_be_and_only_as_far_as_it_fits() -> None:
    def job(sinks: str) -> Job:
        one = checked(("tight", "it leaks"), ("firm", sinks)).step("mended", 730, act="confirmed", answer=TIGHTENED)
        one.step("mended-at", 731, act="confirmed", nipple="fl")
        one.read("torque", "9 N.m", 740, pass_id="p4", step="torque", nipple="fl")
        return one.step("tight", 760, "leak-check", act="confirmed")

    assert what(job("it sinks")) == "it sinks; put right since: it leaks"
    assert what(job("it sinks, " * 8)) == "it sinks, " * 8


def test_a_tag_names_what_was_seen_although_there_are_too_many_without_proof_to_name_them() -> None:
    told = opened(unmet=MOST_ON_TAG + 2, unproven=30)
    told["open"][-1]["seen"], told["open"][9]["seen"] = "it sinks", "it leaks"
    text = Page(tag(told)).text
    assert "not met <9>: it sinks" in text and text.count("not met <") == MOST_ON_TAG
    assert "no proof <8>: it leaks" in text and "and 29 more have no proof yet" in text
    accepted = [{"text": f"{number} Is it? not met: x"} for number in range(9)] + [
        {"text": "No? no proof", "seen": "wet"}
    ]
    assert _accepted(accepted)["accepted"][0] == "No? no proof: wet"


CLEAR = '[[steps_after_each_pass]]\nid = "clear"\ntext = "Clear?"\nact = "check"\naffects = "clear"\n\n'


def test_what_is_asked_at_each_pass_names_the_pass_at_which_it_is_open() -> None:
    job = clean(edit(("[pump]", f"{CLEAR}[pump]")), scope="nipples rr,rl,fr")
    for at, name in enumerate(("p1", "p2", "p3")):
        nipple = job.passes[name].nipples[0]
        if name == "p2":
            job.step("clear", 620, act="skipped", said="bubbles", looked=True, pass_id=name, nipple=nipple)
        else:
            job.step("clear", 620 + at, "clear", act="confirmed", pass_id=name, nipple=nipple)
    (clear,) = (one for one in of(job)["open"] if one.get("seen"))
    assert (clear["seen"], clear["at"]) == ("p2: bubbles", "p2")
    job = Job(grade="told", scope="nipples rr,rl").open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    job.open("rl", "p2", 200).run("p2", 204, 209).close("rl", 230, "p2")
    short = next(one for one in of(job)["open"] if one["what"] == "not met" and one.get("at"))
    assert short["at"] == "p2" and f"{short['title']} (p2)" in Page(tag(of(job))).text
    answered = next(one for one in of(job)["open"] if one["title"] == "What did the control unit answer?")
    assert "at" not in answered, "it is open at each pass"

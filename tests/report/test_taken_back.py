"""What was keyed in and taken back counts on no paper and opens no gate; what was amended says so where it stands."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job, edit
from tests.audit.procedures import WHOLE
from tests.audit.shipped import QUESTIONS
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.audit.run import audit
from witnessmark.host.releasing import gate_of
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag

CHECK = '[[steps_after]]\nid = "tight"\ntext = "No leak?"\nact = "check"\naffects = "leak-check"\n\n[pump]'
CHECKED = edit(("[pump]", CHECK))
TYPED = {"basis": "typed"}


def back(job: Job, *targets: int) -> Job:
    """Take back what was keyed in last."""
    for target in targets or (job.last(),):
        amend(job, target, withdrawn=True)
    return job


def amend(job: Job, target: int, **instead: Any) -> Job:
    job.add("amendment", {"instead": instead, "reason": "misread", "target": target}, 900, by="person:l-heron")
    return job


def front(told: dict[str, Any]) -> str:
    return Page(sheet(told)).text.partition("Timeline")[0]


def test_a_reading_that_was_taken_back_is_not_among_what_was_also_read_and_its_entry_is_named() -> None:
    told = of(back(Job(WHOLE).read("level", "700 mL", 5, step="level", **TYPED)).read("level", "500 mL", 20))
    assert "Also read: level 500 mL." in front(told) and "700 mL" not in front(told)
    for paper in (front(told), Page(statement(told)).text):
        assert "Keyed in and taken back: entry 1. What was done is told without that." in paper
    assert [one["taken_back"] for one in told["timeline"]["readings"]] == [True, False]
    assert told["entries"][1]["corrected"][0]["text"] == "taken back: it counts as not keyed in"
    assert "taken back" not in front(of(Job(WHOLE).read("level", "700 mL", 5, **TYPED)))


def test_a_row_has_no_attempt_and_no_reading_that_was_taken_back() -> None:
    job = Job(grade="told", u=0, scope="nipples fl").open("fl", "p4", 6, **TYPED).close("fl", 20, "p4", **TYPED)
    job.read("volume", "90 mL", 25, pass_id="p4", **TYPED)
    back(job, 3, 2, 1).open("fl", "p4", 106, **TYPED).close("fl", 120, "p4", **TYPED)
    (one,) = of(job)["passes"]
    assert (one["opened"], one["others"], one["readings"], one["corrected"]) == ("15:08:26", [], [], [])
    assert len(one["attempts"]) == 1


def test_what_was_taken_back_is_neither_left_out_nor_seen_nor_stored_nor_open() -> None:
    job = Job(WHOLE, scope="nipples fl", u=0).step("cap", 50, act="skipped", said="lost", pass_id="p4", **TYPED)
    back(job).step("not-written", 55, answer="close", pass_id="p4", nipple="fl", **TYPED)
    back(job).step("air-drawn", 60, "empty", **TYPED)
    back(job).add("scan", {"when": "after", "codes": ["C1"]}, 65, basis="typed")
    back(job).step("leaks", 70, "leak-check", act="skipped", said="it drips", looked=True, **TYPED)
    back(job).open("fl", "p4", 75, **TYPED)
    told = of(back(job))
    assert not [one for one in told["not_part"] if "lost" in one]
    assert (told["not_written"], told["happened"], told["codes_left"], told["standing"]) == ([], [], [], [])
    assert not [one for one in told["open"] if "seen" in one]
    assert "it drips" not in Page(tag(told)).text and told["taken_back"] == [1, 3, 5, 7, 9, 11]


def test_a_value_that_was_corrected_and_corrected_back_is_told_with_the_one_in_between() -> None:
    def torque(value: str) -> dict[str, Any]:
        return {"amount": {"unit": "N.m", "value": value}}

    job = Job(WHOLE).read("torque", "8 N.m", 5, step="torque", pass_id="p4", nipple="fl", **TYPED)
    told = of(amend(amend(job, 1, **torque("5")), 1, **torque("8")))
    line = "torque (p4, front left): 8 N.m, then 5 N.m, then 8 N.m (entry 1, corrected in entries 2 3)"
    assert told["values"] == [line]
    assert line.replace("N.m", "N\u00b7m") in Page(statement(told)).text
    other = amend(amend(job, 2, instead=torque("6")), 1, nipple="fr")
    assert of(other)["values"][0].startswith("torque (p4, front left): 8 N.m, then 5 N.m, then 8 N.m, then 6 N.m (")
    assert of(back(job, 1))["values"] == of(Job(WHOLE))["values"] == []


@pytest.mark.parametrize(
    ("made", "instead", "lines"),
    [
        ({"act": "skipped", "said": "it leaks", "looked": True}, {"answer": "yes"},
         ["No leak: looked at, and not right: it leaks, then yes"]),
        ({"act": "skipped", "said": "no time"}, {"act": "done", "said": "as ever"},
         ["No leak, act: left out: no time, then done", "No leak, said: no time, then as ever"]),
        ({"step": "mended-at", "act": "confirmed", "nipple": "fl"}, {"nipple": "fr"},
         ["where it was mended, nipple: front left, then front right"]),
        ({"act": "opened", "nipple": "fl", "pass_id": "p4"}, {"pass_id": "p3", "on_cue": True},
         ["nipple opened (front left), pass: p4, then p3", "nipple opened (p4, front left), on cue: no, then yes"]),
    ],
)  # fmt: skip
def test_each_field_that_was_corrected_is_told_first_in_the_words_of_its_entry(
    made: dict[str, Any], instead: dict[str, Any], lines: list[str]
) -> None:
    told = of(amend(Job(CHECKED).step(**{"step": "tight", "at": 70, **made, **TYPED}), 1, **instead))
    assert told["values"] == [f"{line} (entry 1, corrected in entry 2)" for line in lines]
    assert "; ".join(told["values"]) in Page(statement(told)).text


def test_a_time_a_code_and_a_file_that_were_corrected_are_told_too() -> None:
    job = Job().step("note", 20, said="x", **TYPED)
    amend(job, 1, at="2025-06-15 15:09", occurred={"from": "1", "to": "2"})
    job.add("scan", {"when": "after", "codes": ["C1"]}, 65, basis="typed")
    amend(job, 3, codes=[])
    job.add("attachment", {"name": "gauge.jpg", "sha256": "ab", "shows": "2 bar", "size": 1}, 70)
    assert of(amend(job, 5, shows="1 bar"))["values"] == [
        "note, when it was: 15:07:00 \u00b11.0 s, then 2025-06-15 15:09 (entry 1, corrected in entry 2)",
        "trouble codes, codes: C1, then none (entry 3, corrected in entry 4)",
        "gauge.jpg, shows: 2 bar, then 1 bar (entry 5, corrected in entry 6)",
    ]


def test_a_check_that_was_not_right_keeps_its_words_where_it_was_taken_back() -> None:
    told = of(back(Job(CHECKED).step("tight", 70, act="skipped", said="hose wet", looked=True, **TYPED)))
    said = "Keyed in and taken back: entry 1; among them a no, entry 1: No leak: hose wet."
    assert said in front(told) and said in Page(statement(told)).text


def test_a_no_that_was_taken_back_was_not_put_right_and_a_yes_that_was_puts_nothing_right() -> None:
    def leak() -> Job:
        no = Job(CHECKED).step("tight", 100, act="skipped", said="it leaks", looked=True, **TYPED)
        return no.step("tight", 160, "leak-check", act="confirmed", **TYPED)

    assert len(of(leak())["said_put_right"]) == 1
    assert of(back(leak(), 1))["said_put_right"] == of(back(leak(), 2))["said_put_right"] == []


def test_what_only_one_reading_of_the_record_says_is_said_to_be_of_that() -> None:
    job = Job(WHOLE, scope="nipples fl").step("cap", 50, act="skipped", said="lost", pass_id="p4", nipple="fl")
    assert of(amend(job, 1, said="broken"))["not_part"][-2:] == [
        "p4, front left, Cap on: left out, lost (as first written)",
        "p4, front left, Cap on: left out, broken (as corrected)",
    ]
    same = Job(WHOLE, scope="nipples fl").step("cap", 50, act="skipped", said="lost", pass_id="p4", nipple="fl")
    assert of(amend(same.read("level", "700 mL", 60), 2, what="level"))["not_part"][-1].endswith("left out, lost")


def test_a_run_that_was_taken_back_without_its_end_shuts_no_gate() -> None:
    job = Job(grade="told", u=0)
    job.add("intent", {"pass_id": "p1", "nipples": ["rr"], "wire_command": "pump", "seconds": "20", "start": "",
                       "stop": "", "peer": {}, "grade": "told"}, 10, basis="typed")  # fmt: skip

    def shut() -> tuple[str, ...]:
        return gate_of(audit(job.entries(), list(QUESTIONS.values()))).shut

    assert [one for one in shut() if "nobody knows how pump" in one]
    assert [one for one in of(job)["open"] if one["what"] == "no known end"]
    back(job)
    assert not [one for one in shut() if "nobody knows how pump" in one]
    assert not [one for one in of(job)["open"] if one["what"] == "no known end"]


@pytest.mark.parametrize("paper", [sheet, statement, tag])
def test_a_correction_of_what_the_job_was_opened_with_stands_at_the_top_of_every_paper(paper: Any) -> None:
    told = of(amend(Job(), 0, vehicle={"what": "another truck"}))
    said = "Corrected later: entry 0 by entry 1: vehicle: what another truck (misread; l-heron)."
    assert said in Page(paper(told)).text.partition("What was done")[0]
    assert "Corrected later" not in Page(paper(of(Job()))).text

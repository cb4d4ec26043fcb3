"""Page one, the statement and the tag say what happened besides, and by whom and why somebody went on all the same."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import Job
from tests.audit.procedures import WHOLE, complete, whole
from tests.audit.questions.test_fluid_questions import labels
from tests.report.test_attempts import visit
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.journal import bodies
from witnessmark.report.sheet import sheet
from witnessmark.report.statement import statement, tag


def emptied() -> Job:
    job = (
        Job(u=0).pressurise(0).open("rr", "p1", 6).state("paused", 10).step("left-open", 12, pass_id="p1", nipple="rr")
    )
    job.state("open", 40).close("rr", 45, "p1").step("air-drawn", 50, "empty", pass_id="p1")
    return job.step("air-accepted", 55, act="confirmed", said="the lead says so")


def top(told: dict[str, Any]) -> str:
    """Return what page one says before what was done at each visit."""
    return Page(sheet(told)).text.partition("What was done")[0]


def test_an_empty_reservoir_and_a_nipple_left_open_in_a_pause_stand_on_page_one_and_the_statement() -> None:
    told = of(emptied())
    assert told["happened"] == [
        "The reservoir ran empty at p1, said 15:07:30 (entry 7); gone on all the same by t-otter: the lead says so",
        "Nipple rear right of p1 was left open, the feed under pressure, as the job was paused, 15:06:52 (entry 4); "
        "closed 15:07:25",
    ]
    for paper in (top(told), Page(statement(told)).text):
        assert all(one in paper for one in told["happened"])


def test_an_empty_reservoir_that_nothing_was_decided_on_is_told_once() -> None:
    job = Job(u=0).step("air-drawn", 50, "empty").step("said-empty", 70, "empty")
    job.step("passes-again", 80)
    assert of(job)["happened"] == [
        "The reservoir ran empty, said 15:07:30 (entry 1)",
        "The reservoir ran empty, said 15:07:50 (entry 2); the passes begun were to be done again, as t-otter said",
    ]


def test_what_was_read_outside_its_limits_and_left_so_is_named_with_the_reason() -> None:
    job = Job(WHOLE).read("level", "700 mL", 5, step="level", low="400 mL", high="600 mL")
    job.step("level", 8, act="confirmed", said="it is drawn off tomorrow")
    (line,) = of(job)["happened"]
    assert (
        line
        == "Level 700 mL, asked 400 mL to 600 mL: gone on all the same by t-otter: it is drawn off tomorrow (entry 2)"
    )
    assert "it is drawn off tomorrow" in Page(statement(of(job))).text


def test_why_a_reading_of_a_pass_was_left_so_stands_at_its_row() -> None:
    job = Job(WHOLE).read("torque", "5 N.m", 5, pass_id="p1", step="torque", nipple="rr", low="8 N.m")
    job.step("torque", 8, act="confirmed", pass_id="p1", nipple="rr", said="the thread is worn")
    assert visit(job)["outside"] == ["torque 5 N.m, asked at least 8 N.m, left so by t-otter: the thread is worn"]
    assert of(job)["happened"] == []


def torques(*read: str) -> dict[str, Any]:
    """Return the visit of a nipple whose torque was read so, in turn, with what was put right before the last."""
    job = Job(WHOLE).open("rr", "p1", 1).close("rr", 4, "p1")
    for at, amount in enumerate(read):
        if at == len(read) - 1:
            job.step("put-right", 9, pass_id="p1", nipple="rr", answer="torque", mended="loosened and torqued anew")
        asked = {"low": "8 N.m", "high": "10 N.m"}
        job.read("torque", amount, 10 + at, pass_id="p1", step="torque", nipple="rr", **asked)
    return visit(job)


def test_of_two_torques_the_last_counts_and_the_one_before_is_told_as_put_right() -> None:
    right = "; t-otter says what was put right: loosened and torqued anew; read again,"
    one = torques("11 N.m", "9 N.m")
    assert (one["outside"], one["others"]) == ([], [f"torque 11 N.m, asked 8 N.m to 10 N.m{right} 9 N.m counts"])
    both = torques("11 N.m", "14 N.m")
    assert both["outside"] == [
        f"torque 11 N.m, asked 8 N.m to 10 N.m{right} 14 N.m counts", "torque 14 N.m, asked 8 N.m to 10 N.m"
    ]  # fmt: skip
    assert both["others"] == []


def test_fluid_below_its_wet_minimum_and_waste_that_is_less_than_came_out_are_named() -> None:
    job = whole().read("boiling-point", "150 degC", 5).read("volume-removed", "940 mL", 10).read("waste", "50 mL", 20)
    boils, wasted = of(job)["happened"]
    least = "below the wet minimum of DOT 4, 155 degC (entry 1)"
    assert boils == f"The old fluid, tested before the work, boils at 150 degC, {least}"
    assert wasted == "940 mL was drawn off and collected, and 50 mL put away as waste (entry 3)"
    assert "below the wet minimum" in top(of(job))
    fine = whole().read("boiling-point", "190 degC", 5).read("volume-removed", "940 mL", 10).read("waste", "940 mL", 20)
    assert of(fine.read("volume-drawn", "184 mL", 30))["happened"] == []
    later = of(job.read("volume-drawn", "184 mL", 30))["happened"][-1]
    assert later == f"{wasted}; 184 mL more was drawn off after that (entry 4)"


def test_fluid_that_was_tested_as_the_work_had_begun_is_not_called_the_old_one() -> None:
    job = whole().read("volume-in", "200 mL", 3).read("boiling-point", "150 degC", 5)
    assert of(job)["happened"][0].startswith("The fluid as it was tested boils at 150 degC, below")
    assert of(job)["fluid"]["tests"][0]["of"] == "the fluid as it was tested"


def test_a_container_that_was_put_away_is_named_and_the_fluid_is_said_to_be_what_was_poured() -> None:
    told = of(labels("DOT 3", "DOT 4", "+"))
    line = (
        "A container was first read as DOT 3 (entry 1): put away or misread, for a label was read anew before any was "
        "poured"
    )
    assert told["happened"] == [line] and line in top(told) and line in Page(statement(told)).text
    assert told["fluid"]["container"] == [
        "the container says DOT 4; the procedure asks for DOT 4",
        "read as DOT 3 first, and anew before any was poured",
    ]
    twice = of(labels("DOT 3", "+", "DOT 4"))
    assert twice["happened"] == [] and twice["fluid"]["container"][0].startswith("the container says DOT 3 and DOT 4")
    assert of(labels("DOT 4", "DOT 4"))["happened"] == []


@pytest.mark.parametrize("paper", [sheet, statement, tag])
def test_codes_that_are_still_stored_are_named_on_every_paper(paper: object) -> None:
    told = of(complete())
    (line,) = told["codes_left"]
    assert line.startswith("trouble code still stored at the last scan: C1B41-54 (brake control unit; entry ")
    assert callable(paper)
    assert "rouble code still stored at the last scan: C1B41-54" in Page(paper(told)).text
    if paper is not tag:
        assert "but the work's own? Still stored: C1B41-54" in Page(paper(told)).text
    titles = [one["title"] for one in told["findings"] if one["id"] == "codes"]
    assert titles == ["No trouble code but the work's own?"]
    assert of(complete((701, lambda job, at: job.scan("after", [], at))))["codes_left"] == []


def test_a_run_longer_than_asked_is_marked_on_page_one() -> None:
    one = visit(Job(u=0).open("rr", "p1", 6).run("p1", 10, 40).close("rr", 50, "p1"))
    assert one["ran_mark"] == "longer than asked"
    assert one["outside"] == ["ran 30.0 s, longer than asked: 20 s within 1 s"]
    fine = visit(Job(u=0).open("rr", "p1", 6).run("p1", 10, 31).close("rr", 50, "p1"))
    assert (fine["ran_mark"], fine["outside"]) == ("", [])


def test_questions_without_proof_are_named_on_page_one() -> None:
    told = of(emptied())
    titles = [one["title"] for one in told["findings"] if one["answer"] == "no proof"]
    assert all(title in top(told) for title in titles[:6]) and f"And {len(titles) - 6} more" in top(told)


def test_an_end_of_the_program_that_no_entry_tells_and_a_nipple_open_at_one_stand_on_page_one() -> None:
    job = Job(u=0).pressurise(0).open("rr", "p1", 6)
    unseen = bodies.Left(how="unseen", open_nipples=("rr",), pressurised=True, after=2)
    job.add("left", unseen, 20, u=10, entered=30)
    job.state("open", 30).close("rr", 45, "p1")
    job.add("left", bodies.Left(how="left"), 50)
    told = of(job)
    assert told["happened"] == [
        "No entry says how the program ended: at some time after entry 2, before it was taken up, with nipple rear "
        "right open and the feed under pressure, between 15:06:50 and 15:07:10 (entry 3)",
    ]
    assert told["happened"][0] in top(told) and told["happened"][0] in Page(statement(told)).text
    assert [one["seq"] for one in told["timeline"]["ended"]] == [3], "one that was left is no hole in the record"
    assert "No machine saw any of it" not in Page(statement(told)).text


@pytest.mark.parametrize(
    ("u", "stood"),
    [
        (0, "nipple rear right open and the feed under pressure"),
        (5, "nipple rear right perhaps open and the feed under pressure"),
    ],
)
def test_what_is_said_afterwards_to_have_been_open_as_the_screen_was_lost_is_named_with_its_end(
    u: float, stood: str
) -> None:
    job = Job(u=0).pressurise(0).run("p1", 10, 15)
    job.add("left", bodies.Left(how="screen closed", pressurised=True), 17)
    job.open("rr", "p1", 12.5, u=u, entered=30, on_cue=True).close("rr", 45, "p1")
    job.add("left", bodies.Left(how="left", pressurised=True), 55)
    job.open("rr", "p1", 60)
    lost, left = (line for line in of(job)["happened"] if "the screen" in line.lower())
    assert f"the program ended, with {stood}, 15:06:57" in lost
    assert "with nipple rear right" not in left and left.startswith("Left at the screen, with the feed under pressure,")


def test_a_screen_that_was_closed_with_nothing_open_stands_with_the_entries_alone() -> None:
    job = Job(u=0).step("wake", 5)
    job.add("left", bodies.Left(how="told to end", signal="SIGTERM"), 9)
    told = of(job)
    assert told["happened"] == [] and "the program was told to end (SIGTERM)" in told["entries"][-1]["text"]

"""A sheet lists each entry once; a plain reading and the condition that rests on it share a line."""

from __future__ import annotations

from typing import Any

from tests.audit.jobs import Job
from tests.report.test_facts import of
from tests.report.test_sheet import Page

from witnessmark.journal import bodies
from witnessmark.report.listed import listed
from witnessmark.report.sheet import sheet


def read(job: Job, at: float, answer: str = "62700100", found: str = "0 km/h", rests_on: int | None = None) -> Job:
    """Read the speed and write what it means for the run."""
    job.exchange("condition", "227001", at, answer, pass_id="p1")
    seq = job.last() if rests_on is None else rests_on
    body = bodies.Condition(name="speed", found=found, wanted="", holds=True, source="read", pass_id="p1", exchange=seq)
    job.add("condition", body, at)
    return job


def numbers(facts: dict[str, Any]) -> list[list[int]]:
    return [one["seqs"] for one in listed(facts)]


def test_a_condition_stands_in_one_line_with_the_reading_that_it_rests_on() -> None:
    told = of(read(Job(), 10))
    assert numbers(told) == [[0], [1, 2]]
    assert listed(told)[1]["text"] == "speed: 0 km/h; holds, read (p1) (227001)"
    shown = Page(sheet(told))
    assert {"e0", "e1", "e2"} <= {attrs.get("id") for _, attrs in shown.tags}


def test_no_number_is_left_out_and_none_comes_twice() -> None:
    job = read(read(Job(), 10).run("p1", 20, 40), 50).exchange("identification", "22F187", 60, "62F18741")
    told = of(job.exchange("identification", "22F191", 60, "62F19142").exchange("scan", "190209", 61, "590200"))
    assert [seq for line in numbers(told) for seq in line] == [one["seq"] for one in told["entries"]]
    assert [one for one in numbers(told) if len(one) > 1] == [[1, 2], [8, 9], [10, 11]]


def test_what_went_wrong_or_rests_on_another_reading_or_was_corrected_stands_by_itself() -> None:
    assert numbers(of(read(Job(), 10, answer="7F2222"))) == [[0], [1], [2]]
    assert numbers(of(read(Job(), 10, answer=""))) == [[0], [1], [2]]
    assert numbers(of(read(Job(), 10, rests_on=0))) == [[0], [1], [2]]
    job = read(Job(), 10)
    job.add("amendment", {"instead": {"found": "5 km/h"}, "reason": "misread", "target": 2}, 20, by="person:l-heron")
    assert numbers(of(job)) == [[0], [1], [2], [3]]

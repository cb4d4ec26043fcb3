"""The facts of a sheet: plain values, every time with its uncertainty, what is open, practice said so."""

from __future__ import annotations

import json
from datetime import timedelta, timezone
from typing import Any

from tests.audit.jobs import MAP, Job, clean, edit
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.journal.entry import leaf
from witnessmark.report.facts import facts


def of(job: Job, **more: Any) -> dict[str, Any]:
    return facts(audit(job.entries(), list(QUESTIONS.values())), **more)


def test_facts_are_plain_json_without_floats() -> None:
    def refuse(text: str) -> None:
        raise AssertionError(f"float {text}")

    told = of(clean().read("torque", "9.1 N.m", 700))
    assert json.loads(json.dumps(told), parse_float=refuse) == told


def test_count_and_head_are_those_of_the_last_entry() -> None:
    job = clean()
    assert of(job)["record"]["count"] == len(job.entries())
    assert of(job)["record"]["head"] == leaf(job.entries()[-1]).hex()


def test_a_job_not_released_lists_what_is_open() -> None:
    job = Job().state("paused", 10, why="end of shift")
    told = of(job)
    assert told["job"]["released"] is False
    assert told["open"][0] == {"what": "state", "title": "the job is paused", "text": "end of shift"}
    answers = [one["what"] for one in told["open"][1:]]
    assert answers == sorted(answers, key=["not met", "no proof"].index)
    assert len(answers) == told["counts"]["not met"] + told["counts"]["no proof"] > 0


def test_a_released_job_lists_nothing_as_open() -> None:
    told = of(clean().state("finished", 700).state("released", 710))
    assert (told["job"]["released"], told["open"]) == (True, [])
    assert told["job"]["released_by"] == "t-otter"


def test_a_run_without_a_known_end_is_open_until_somebody_looked() -> None:
    job = Job().run("p1", 10, None, outcome=False)
    assert "no known end" in [one["what"] for one in of(job)["open"]]
    job.add("inspection", {"actuation": 1, "pass_id": "p1", "said": "it is quiet", "safe": True}, 60)
    assert "no known end" not in [one["what"] for one in of(job)["open"]]


def test_practice_time_and_invented_data_are_said() -> None:
    assert of(Job(rate=8))["practice"] == {"rate": 8}
    assert of(Job())["practice"] is None
    assert of(Job())["procedure"]["invented"] is True


def test_times_of_day_are_in_the_zone_of_the_sheet_and_carry_their_uncertainty() -> None:
    job = Job().open("rr", "p1", 100)
    there = timezone(timedelta(hours=2), "EET")
    assert of(job)["passes"][0]["opened"] == "15:08:20 \u00b11.0 s"
    assert of(job, zone=there)["passes"][0]["opened"] == "17:08:20 \u00b11.0 s"
    assert of(job, zone=there)["job"]["zone"] == "EET (UTC+02:00)"
    assert of(job, zone=there)["job"]["first_stamp"] == "2025-06-15T15:06:39.000Z"


def test_a_time_on_another_day_has_its_date() -> None:
    told = of(Job().step("look", 90_000))
    assert told["timeline"]["steps"][0]["at"]["text"] == "2025-06-16 16:06:40 \u00b11.0 s"


def test_a_visit_says_what_was_recorded_and_what_was_not() -> None:
    job = Job().read("feed-pressure", "2.0 bar", 95).open("rr", "p1", 100).run("p1", 104, 124).close("rr", 130, "p1")
    first, second = of(job)["passes"][:2]
    assert (first["open_for"], first["ran"], first["pressure"]) == ("28.0 to 32.0 s", "20.0 s", "2.0 bar")
    assert (second["opened"], second["open_for"], second["ran"]) == ("no entry", "no entry", "no entry")


def test_each_nipple_of_a_visit_has_its_own_length() -> None:
    both = edit(('nipples = ["fl"]', 'nipples = ["fl", "fr"]'))
    job = Job(both, u=0, scope="nipples fl").open("fl", "p4", 10).open("fr", "p4", 15).close("fl", 40).close("fr", 50)
    assert of(job)["passes"][0]["open_for"] == "30.0 s; 35.0 s"
    again = Job(u=0, scope="nipples fl").open("fl", "p4", 10).close("fl", 20).open("fl", "p4", 30).close("fl", 35)
    assert of(again)["passes"][0]["open_for"] == "15.0 s"


def test_a_printed_length_is_within_a_tenth_of_a_second() -> None:
    job = Job().run("p1", 104, 124.0499)
    assert of(job)["passes"][0]["ran"] == "20.0 s"
    assert of(Job().run("p1", 104, 124.051))["passes"][0]["ran"] == "20.1 s"


def test_an_exchange_has_its_bytes_and_their_meaning() -> None:
    (start,) = of(Job(protocol_map=MAP).run("p1", 10, None, answer="negative", code="22"))["exchanges"]
    assert start["bytes"] == "31 01 03 01"
    assert "RoutineControl" in start["meaning"]
    assert start["answers"][0]["bytes"] == "7F 31 22"
    assert "conditionsNotCorrect" in start["answers"][0]["meaning"]


def test_bytes_that_cannot_be_read_are_shown_with_the_reason() -> None:
    (one,) = of(Job().exchange("scan", "1902FF", 10, "7F19"))["exchanges"]
    assert one["answers"][0]["bytes"] == "7F 19"
    assert one["answers"][0]["meaning"].startswith("cannot be read: ")


def test_what_is_outside_the_scope_is_said() -> None:
    assert len(of(Job(scope="nipples fl"))["not_part"]) == 3


def test_every_entry_has_a_line_also_of_a_kind_not_known() -> None:
    job = clean()
    job.add("later-kind", {"x": "y"}, 900)
    told = of(job)
    assert [one["seq"] for one in told["entries"]] == list(range(len(job.entries())))
    assert all(one["text"] for one in told["entries"])
    assert "does not know" in told["entries"][-1]["text"]

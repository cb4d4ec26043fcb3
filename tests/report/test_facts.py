"""The facts of a sheet: plain values, every time with its uncertainty, what is open, practice said so."""

from __future__ import annotations

import json
from datetime import timedelta, timezone
from typing import Any

import pytest
from tests.audit.jobs import MAP, Job, clean, edit, serve
from tests.audit.procedures import WHOLE
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.run import audit
from witnessmark.job.walk import state
from witnessmark.journal.entry import leaf
from witnessmark.report.facts import facts
from witnessmark.report.lines import OWN_STEPS


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


def test_a_finished_job_names_the_release_as_what_is_open() -> None:
    first = of(clean().state("finished", 700))["open"][0]
    assert first["title"] == "finished, and not released by the lead yet"
    assert of(Job())["open"][0]["title"] == "the work is not finished"


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


def test_a_bottle_says_whose_fluid_it_holds_besides_that_of_its_own_visit() -> None:
    shared = edit(('nipples = ["rl"]', 'nipples = ["rl"]\nbottle_with = "p3"'))
    job = Job(shared, scope="nipples rl,fr").open("rl", "p2", 10).close("rl", 20, "p2")
    job.open("fr", "p3", 30).close("fr", 40, "p3").read("volume", "81 mL", 50, pass_id="p3")
    assert [one["readings"] for one in of(job)["passes"]] == [[], ["volume 81 mL, with p2's"]]


def test_a_bottle_that_was_misread_says_that_it_does_not_count_beside_its_limit_too() -> None:
    job = Job(scope="nipples fl").open("fl", "p4", 10).close("fl", 20, "p4")
    job.read("volume", "0.06 mL", 30, pass_id="p4", step="bottle", low="120 mL")
    job.step("put-right", 40, act="confirmed", pass_id="p4", answer="bottle", mended="misread: nothing more ran")
    job.step("bottle", 50, act="skipped", pass_id="p4", said="it was not measured")
    (told,) = of(job)["passes"]
    said = "misread as t-otter says: it does not count"
    assert told["readings"][0] == f"volume 0.06 mL, {said}"
    assert told["outside"] == [f"volume 0.06 mL, asked at least 120 mL, {said}"]


def test_each_nipple_of_a_visit_has_its_own_length() -> None:
    both = edit(('nipples = ["fl"]', 'nipples = ["fl", "fr"]'))
    job = Job(both, u=0, scope="nipples fl").open("fl", "p4", 10).open("fr", "p4", 15).close("fl", 40).close("fr", 50)
    assert of(job)["passes"][0]["open_for"] == "30.0 s; 35.0 s"
    again = Job(u=0, scope="nipples fl").open("fl", "p4", 10).close("fl", 20).open("fl", "p4", 30).close("fl", 35)
    assert of(again)["passes"][0]["open_for"] == "15.0 s"


def test_a_torque_names_its_nipple_where_a_visit_has_several() -> None:
    job = Job(edit(('nipples = ["fl"]', 'nipples = ["fl", "fr"]')), scope="full")
    told = of(job.read("torque", "8 N.m", 60, pass_id="p4", nipple="fr").read("torque", "9 N.m", 61, pass_id="p1"))
    readings = {one["id"]: one["readings"] for one in told["passes"]}
    assert readings["p4"][0] == "torque 8 N.m at front right" and readings["p1"][0] == "torque 9 N.m"


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
    lines = of(Job(scope="nipples fl").open("fl", "p4", 10).close("fl", 40, "p4"))["not_part"]
    assert [one.partition(":")[2] for one in lines] == [" outside the scope of this job"] * 3


def test_what_was_planned_and_never_reached_is_not_taken_for_done() -> None:
    job = serve(Job(), "p1", 100).state("abandoned", 300, why="fetched")
    assert of(job)["not_part"] == [
        "planned, and no entry says that it was done: p2 (rear left), p3 (front right) and p4 (front left)"
    ]
    assert of(clean())["not_part"] == []


def test_a_reading_outside_its_band_is_marked_and_said_with_the_band() -> None:
    low = {"low": "1.8 bar", "high": "2.2 bar"}
    job = Job(scope="nipples fl").read("feed-pressure", "1.6 bar", 95, pass_id="p4", **low).open("fl", "p4", 100)
    job.close("fl", 130, "p4").read("torque", "9 N.m", 140, pass_id="p4", high="9 N.m")
    job.read("wheel-torque", "120 N.m", 200, low="170 N.m").read("level", "500 mL", 210, low="4 bar")
    told = of(job)
    assert told["passes"][0]["outside"] == ["feed pressure 1.6 bar, asked 1.8 bar to 2.2 bar"]
    assert told["passes"][0]["pressure_outside"] is True
    assert [one["outside"] for one in told["timeline"]["readings"]] == [True, False, True, False]


@pytest.mark.parametrize(
    "step",
    [
        state.ACCEPT,
        state.AIR_ACCEPTED,
        state.AIR_DRAWN,
        state.CUE_GIVEN,
        state.HANDS,
        state.LATER,
        state.LEFT_OPEN,
        state.LET_OFF,
        state.OFF_TO_FILL,
        state.AS_EXPECTED,
        state.LEVEL_LOOK,
        state.MISSED,
        state.OTHER_PASS,
        state.PASSES_AGAIN,
        state.PRESSURE_STAYS,
        state.PUT_RIGHT,
        state.READY,
        state.REDO,
        state.WITNESSED,
        "said-empty",
        "said-note",
        "said-refill",
    ],
)
def test_a_step_that_only_the_job_knows_is_said_in_words(step: str) -> None:
    assert step in OWN_STEPS
    (told,) = of(Job().step(step, 10, pass_id="p1"))["timeline"]["steps"]
    assert told["text"] == OWN_STEPS[step] and "-" not in told["text"]


def test_what_was_put_right_is_said_by_its_words_and_not_by_its_step() -> None:
    job = Job(WHOLE).step("put-right", 10, act="confirmed", answer="wheels", mended="tightened again")
    told = of(job)
    assert told["timeline"]["steps"][0]["said"] == "tightened again"
    assert "outside its limits: wheels, tightened again" in told["entries"][-1]["text"]


def test_what_is_left_out_for_one_reason_stands_in_one_line() -> None:
    job = Job(WHOLE, scope="nipples fl").open("fl", "p4", 100).close("fl", 130, "p4")
    for step in ("safe", "service-on"):
        job.step(step, 200, act="skipped", said="no tester")
    job.step("road", 210, act="skipped", said="it rains")
    assert of(job)["not_part"][-2:] == [
        "Set supports; Enter the service mode: left out, no tester",
        "Road test: left out, it rains",
    ]


def test_a_step_left_out_is_named_in_words_and_a_nipple_opened_later_is_not_left_out() -> None:
    job = Job(WHOLE).step("cap", 50, "capped", act="skipped", said="lost", pass_id="p4", nipple="fl")
    job.step("open-later", 60, act="skipped", said="no spanner", pass_id="p4", nipple="fl")
    job.step("open", 70, act="skipped", said="seized", pass_id="p3", nipple="fr")
    assert of(job)["not_part"][2:] == [
        "p4, front left, Cap on: left out, lost",
        "p3, front right, opening: left out, seized",
    ]
    asked = Job(WHOLE, scope="nipples fl").step("clear", 50, act="skipped", said="dark", pass_id="p4", nipple="fl")
    assert "p4, front left, Did it run clear? left out, dark" in of(asked)["not_part"]
    looked = Job(WHOLE, scope="nipples fl")
    looked.step("clear", 50, act="skipped", said="dark", pass_id="p4", nipple="fl", looked=True)
    told = of(looked)
    assert not [one for one in told["not_part"] if "dark" in one], "it was done, and was not right"
    assert [one["id"] for one in told["findings"] if one["answer"] == "not met" and "dark" in one["text"]] == [
        "ran-clear"
    ]
    assert [(one["act"], one["how"]) for one in told["timeline"]["steps"]] == [("skipped", "looked at, and not right")]
    assert of(job)["not_part"][0].startswith("planned, and no entry says that it was done: p1 (rear right)")


def left_out(step: str, **more: Any) -> Job:
    """Return a job in which one thing of the visit to front left was left out at 50 s."""
    job = Job(WHOLE, scope="nipples fl")
    return job.step(step, 50, act="skipped", said="why", pass_id="p4", nipple="fl", **more)


@pytest.mark.parametrize(
    ("job", "lines"),
    [
        (left_out("cap"), ["p4, front left, Cap on: left out, why"]),
        (left_out("cap").step("cap", 60, "capped", pass_id="p4", nipple="fl"), []),
        (left_out("cap").step("cap", 60, "capped", pass_id="p4"), []),
        (left_out("cap").step("cap", 60, "capped", pass_id="p3", nipple="fr"), ["front left, Cap on: left out, why"]),
        (left_out("cap").step("clear", 60, "clear", pass_id="p4", nipple="fl"), ["Cap on: left out, why"]),
        (left_out("torque").read("torque", "9 N.m", 60, step="torque", pass_id="p4", nipple="fl"), []),
        (left_out("clear", looked=True).step("clear", 60, "clear", pass_id="p4", nipple="fl"), []),
        (left_out("open").open("fl", "p4", 60), []),
        (left_out("close").open("fl", "p4", 60), ["p4, front left, closing: left out, why"]),
        (left_out("close").open("fl", "p4", 60).close("fl", 70, "p4"), []),
        (
            left_out("cap").step("cap", 60, "capped", pass_id="p4", nipple="fl").step(
                "cap", 70, "capped", act="skipped", said="lost", pass_id="p4", nipple="fl"
            ),
            ["p4, front left, Cap on: left out, lost"],
        ),
    ],
)  # fmt: skip
def test_what_was_left_out_and_done_after_all_was_part_of_the_job(job: Job, lines: list[str]) -> None:
    told = [one for one in of(job)["not_part"] if "left out" in one or "looked at" in one]
    assert len(told) == len(lines)
    assert all(line in one for line, one in zip(lines, told, strict=True)), told


@pytest.mark.parametrize(
    ("scope", "said"),
    [
        ("full", "the whole procedure, 4 passes"),
        ("nipples fl,rr", "only front left and rear right"),
        ("follows J0 p1,p3", "again after job J0: p1 and p3"),
    ],
)
def test_the_scope_is_said_in_words(scope: str, said: str) -> None:
    assert of(Job(scope=scope))["job"]["asked"] == said


def test_another_fluid_than_asked_says_what_comes_of_mixing() -> None:
    told = of(Job(WHOLE).step("grade", 5, "fluid-grade", answer="DOT 3").read("container-age", "3 d", 6))
    lines = told["fluid"]["container"]
    assert lines[0] == "the container says DOT 3; the procedure asks for DOT 4, class 6"
    assert lines[1:] == [
        "open for 3 d; at most 30 d allowed",
        "DOT 3 and DOT 4 mix; the blend ranks as the weaker, DOT 3",
    ]
    silicone = of(Job(WHOLE).step("grade", 5, "fluid-grade", answer="DOT 5"))["fluid"]["container"]
    assert "DOT 5 and DOT 4 never mix: what went in has to come out again" in silicone


def test_every_entry_has_a_line_also_of_a_kind_not_known() -> None:
    job = clean()
    job.add("later-kind", {"x": "y"}, 900)
    told = of(job)
    assert [one["seq"] for one in told["entries"]] == list(range(len(job.entries())))
    assert all(one["text"] for one in told["entries"])
    assert "does not know" in told["entries"][-1]["text"]


def test_who_only_wrote_about_the_record_is_not_named_as_having_done_the_work() -> None:
    job = clean()
    job.add("amendment", {"instead": {}, "reason": "misread", "target": 2}, 900, by="person:l-heron")
    worked = {one["id"]: one["worked"] for one in of(job)["people"] if one["what"] == "person"}
    assert worked == {"t-otter": True, "l-heron": False}

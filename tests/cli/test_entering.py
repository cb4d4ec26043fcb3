"""`witnessmark job enter`: a card keyed in afterwards says so, entry by entry."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay

CARD = """\
format = "witnessmark-procedure/1"
id = "card"
title = "Bleed"
source = "invented for tests"
vehicle = "invented truck"
invented = true
armed_for = "60 s"
physical_fallback = "Ignition off."
nipples = [{ id = "rr", name = "rear right", circuit = "one" }]
[[steps_before]]
id = "grade"
text = "What does the container say?"
act = "check"
affects = "fluid-grade"
[[steps_before]]
id = "feed"
text = "Read the feed"
act = "read"
what = "feed-pressure"
unit = "bar"
limit = { low = "1.8 bar", high = "2.2 bar" }
[[passes]]
id = "p1"
nipples = ["rr"]
wire_command = "pump"
seconds = "10 s"
seconds_tolerance = "1 s"
order = "before"
order_tolerance = "60 s"
overlap = "90 %"
[[steps_after]]
id = "road-test"
text = "Drive"
affects = "road-test"
"""
LINES = "10:40 DOT 4\n10:41 29 psi\n10:42\n10:42:20 10:42:30\n10:43\n10:50\n"
DAY = ("--on", "2026-03-02")


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "card.toml"
    path.write_text(CARD, encoding="utf-8")
    words = ("--procedure", path, "--grade", "told", "--vehicle", "v-1")
    return bay.fine("job", "open", *words).split()[1]


def test_every_line_becomes_an_entry_that_says_it_was_typed(bay: Bay, job: str) -> None:
    told = bay.fine("job", "enter", job, "--on", "2026-03-02", "--done-by", "t-heron", typed=LINES)
    assert "6 of 6 steps" in told
    made = bay.entries(job)[1:]
    assert [one.kind for one in made] == ["step", "reading", "step", "intent", "outcome", "step", "step"]
    assert {one.occurred.basis for one in made} == {"typed"}
    assert {(one.done_by, one.entered_by) for one in made} == {("person:t-heron", "person:t-otter")}
    grade, feed, opened, run = (one.body for one in made[:4])
    assert grade["answer"] == "DOT 4" and (feed["amount"], feed["within"]) == ({"value": "29", "unit": "psi"}, True)
    assert (opened["act"], run["grade"], run["start"]) == ("opened", "told", "")
    assert made[0].occurred.to_ns - made[0].occurred.from_ns == 60 * 10**9 - 1, "a minute as written is that minute"


def test_the_audit_says_that_it_was_entered_afterwards(bay: Bay, job: str) -> None:
    bay.fine("job", "enter", job, "--on", "2026-03-02", typed=LINES)
    told = bay.run("audit", job, "--json")
    assert told.exit_code == 1 and "entered afterwards" in told.output


@pytest.mark.parametrize(
    ("line", "said"), [("25:00 DOT 4", "is no time"), ("10:40", "what was read"), ("soon", "is no time")]
)
def test_a_line_that_is_not_understood_is_asked_again_and_writes_nothing(
    bay: Bay, job: str, line: str, said: str
) -> None:
    result = bay.run("job", "enter", job, *DAY, typed=f"{line}\n\n")
    assert result.exit_code == 0 and said in result.stderr
    assert len(bay.entries(job)) == 1


def test_what_was_not_done_is_left_out_with_its_reason_and_holds_the_job(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, typed="- no container was there\n\n")
    assert "stays open" in result.stderr
    (left,) = bay.entries(job, kind="step")
    assert (left.body["act"], bay.words(left)["said"]) == ("skipped", "no container was there")


def test_a_step_that_was_done_again_is_keyed_in_where_it_was_done(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    path.write_text(CARD.replace('id = "feed"\n', 'id = "feed"\nmay_repeat = true\n'), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    result = bay.run(
        "job", "enter", job, *DAY, typed="10:40 DOT 4\nagain feed\n10:41 2.0 bar\nagain feed\n10:45 2.1 bar\n\n"
    )
    assert "no step that is passed may be done again" in result.stderr and "3 of 7 steps" in result.output
    values = [one.body["amount"]["value"] for one in bay.entries(job, kind="reading")]
    assert values == ["2.0", "2.1"]


def test_a_time_before_the_line_before_and_a_value_that_hardly_can_be_are_taken_at_the_second_time(
    bay: Bay, job: str
) -> None:
    lines = ("10:40 DOT 4", "09:10 2.1 bar", "10:41 400 bar", "10:41 400 bar", "10:41 2.0")
    result = bay.run("job", "enter", job, *DAY, typed="\n".join(lines) + "\n\n")
    assert "REALLY? 09:10 is before" in result.stderr and "REALLY? 400 bar can hardly be" in result.stderr
    readings = [one.body for one in bay.entries(job, kind="reading")]
    assert [one["amount"] for one in readings] == [{"value": "400", "unit": "bar"}, {"value": "2.0", "unit": "bar"}]
    assert [one["within"] for one in readings] == [False, True]
    assert "outside the limits" in result.stderr and "2 of 6 steps" in result.output


def test_a_reading_that_stays_outside_its_limits_is_kept_with_the_reason_on_the_card(bay: Bay, job: str) -> None:
    bay.fine("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 2.5 bar\n- the gauge sticks\n\n")
    kept = bay.entries(job, kind="step")[-1]
    assert (kept.body["step"], kept.body["act"], bay.words(kept)["said"]) == ("feed", "confirmed", "the gauge sticks")


def test_a_container_that_says_another_fluid_is_recorded_and_asked_again(bay: Bay, job: str) -> None:
    path = bay.folder / "fluid.toml"
    path.write_text(CARD.replace("invented = true", 'invented = true\nfluid = "DOT 4"', 1), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    result = bay.run("job", "enter", job, *DAY, typed="10:40 DOT 3\n10:45 DOT 4\n\n")
    assert "It says DOT 3, asked for is DOT 4" in result.stderr and "1 of 6 steps" in result.output
    assert [one.body["answer"] for one in bay.entries(job, kind="step")] == ["DOT 3", "DOT 4"]


def test_what_is_still_to_come_and_a_run_that_ended_before_it_started_are_refused(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, "--on", "2999-01-01", typed="10:40 DOT 4\n\n")
    assert "is still to come" in result.stderr and len(bay.entries(job)) == 1
    lines = "10:40 DOT 4\n10:41 29 psi\n10:42\n10:42:30 10:42:20\n\n"
    result = bay.run("job", "enter", job, *DAY, typed=lines)
    assert "ended before it started" in result.stderr and not bay.entries(job, kind="intent")


def test_each_line_is_asked_for_in_words_with_its_unit_limits_and_place(bay: Bay, job: str) -> None:
    told = bay.run("job", "enter", job, *DAY, typed="10:40 DOT 4\n10:41 2.0\n\n").stderr
    assert "2/6 Read the feed (1.8 bar to 2.2 bar)\n  [10:42 and the value in bar" in told
    assert "3/6 p1, rear right: open the nipple" in told

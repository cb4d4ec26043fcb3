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
    result = bay.run("job", "enter", job, typed=f"{line}\n\n")
    assert result.exit_code == 0 and said in result.stderr
    assert len(bay.entries(job)) == 1


def test_what_was_not_done_is_left_out_with_its_reason_and_holds_the_job(bay: Bay, job: str) -> None:
    result = bay.run("job", "enter", job, typed="- no container was there\n")
    assert "stays open" in result.stderr
    (left,) = bay.entries(job, kind="step")
    assert (left.body["act"], bay.words(left)["said"]) == ("skipped", "no container was there")


def test_a_step_that_was_done_again_is_keyed_in_where_it_was_done(bay: Bay, tmp_path: Path) -> None:
    path = tmp_path / "card.toml"
    path.write_text(CARD.replace('id = "feed"\n', 'id = "feed"\nmay_repeat = true\n'), encoding="utf-8")
    job = bay.fine("job", "open", "--procedure", path, "--grade", "told", "--vehicle", "v-1").split()[1]
    result = bay.run("job", "enter", job, typed="10:40 DOT 4\nagain feed\n10:41 2.0 bar\nagain feed\n10:45 2.1 bar\n\n")
    assert "no step that is passed may be done again" in result.stderr and "3 of 7 points" in result.output
    values = [one.body["amount"]["value"] for one in bay.entries(job, kind="reading")]
    assert values == ["2.0", "2.1"]

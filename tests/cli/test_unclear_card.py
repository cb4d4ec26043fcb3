"""A pass of which a card says that it did not run clear is decided on in the bay, as after the same key there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_empty_card import BEFORE, findings, keyed, open_job
from tests.cli.test_entering import BOXED, CARD

from witnessmark.host.card import entering
from witnessmark.job.amiss.unclear import undecided
from witnessmark.job.screens.now import next_view
from witnessmark.job.walk.state import ACCEPT, REDO, JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft

NOT_CLEAR = "10:43 8.1, not clear: bubbles, capped"
SECOND = ["10:45", "10:45:20 10:45:30"]


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    path = tmp_path / "two.toml"
    one = CARD[CARD.index("[[passes]]") : CARD.index("[[steps_after]]")].replace('"p1"', '"p2"')
    path.write_text(
        BOXED.replace("\n[[steps_after_each_pass]]", f"{one}\n[[steps_after_each_pass]]", 1), encoding="utf-8"
    )
    return open_job(bay, path)


def decide(bay: Bay, job: str, step: str) -> JobState:
    body = bodies.StepDone(step=step, act="done" if step == REDO else "confirmed", pass_id="p1", said="enough came")
    with bay.shop.write() as journal:
        journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(body)))
    return entering.state_of(bay.shop, job)


def ahead(state: JobState) -> list[str]:
    return [one.id for one in state.points[state.cursor :]]


def test_the_card_is_keyed_in_to_its_end_and_then_the_pass_is_decided_on(bay: Bay, job: str) -> None:
    said, _ = keyed(bay, job, *BEFORE, NOT_CLEAR, *SECOND, "10:46 8.0, clear, capped", "10:50")
    assert "9 of 9 steps" in said
    view = next_view(entering.state_of(bay.shop, job))
    assert (view.kind, view.pass_id, [one.key for one in view.buttons]) == ("decide", "p1", ["r", "k"])
    assert view.text.startswith("The run completed, and the fluid did not run clear.")
    refused = bay.run("job", "close", job)
    assert "pass p1: the fluid did not run clear. Do it again or accept it" in str(refused.exception)


def test_one_that_is_accepted_is_passed_over_alone_and_stays_not_met(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, NOT_CLEAR, *SECOND[:1])
    before = entering.state_of(bay.shop, job)
    after = decide(bay, job, ACCEPT)
    assert (undecided(after), ahead(after)) == ({}, ahead(before))
    assert findings(bay, job)["ran-clear"]["answer"] == "not met"


def test_what_was_seen_stays_seen_where_the_opening_is_not_written(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE[:2], "?", BEFORE[3], NOT_CLEAR)
    seen = "p1, rear right: looked at, and not right: bubbles; not written on the card that it was opened"
    found = findings(bay, job)["ran-clear"]
    assert (found["answer"], seen in found["text"]) == ("not met", True)
    decide(bay, job, ACCEPT)
    accepted = f"{seen}; accepted by t-otter: enough came"
    assert accepted in findings(bay, job)["ran-clear"]["text"]
    for paper in ("sheet", "statement"):
        bay.fine(paper, job, "-o", bay.folder / "paper.html")
        assert accepted in (bay.folder / "paper.html").read_text(encoding="utf-8")
    gate = json.loads(bay.run("sheet", job, "--json").stdout)["open"]
    assert [one["seen"] for one in gate if "run clear" in one["title"]] == ["p1: bubbles"]


def test_what_ran_clear_when_it_was_looked_at_again_is_no_proof_without_an_opening(bay: Bay, job: str) -> None:
    keyed(
        bay,
        job,
        *BEFORE[:2],
        "?",
        BEFORE[3],
        NOT_CLEAR,
        "again p1",
        "?",
        "10:44:20 10:44:30",
        "10:45 8.0, clear, capped",
    )
    assert "p1, rear right: not written on the card that it was opened" in findings(bay, job)["ran-clear"]["text"]


def test_one_that_is_done_again_behind_the_last_pass_is_followed_by_what_was_done_there(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, NOT_CLEAR, *SECOND, "10:46 8.0, clear, capped", "10:50")
    after = decide(bay, job, REDO)
    assert ahead(after) == ["p1:open:rr", "p1:run", "p1:torque:rr", "road-test"] and not undecided(after)
    said, _ = keyed(bay, job, "10:52", "10:52", "10:52:20 10:52:30", "10:53 8.0, clear, capped", "10:55")
    assert "12 of 12 steps" in said or "13 of 13 steps" in said
    assert not undecided(entering.state_of(bay.shop, job)) and findings(bay, job)["ran-clear"]["answer"] == "met"


def test_an_earlier_one_is_done_again_once_the_pass_in_hand_is_through(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, NOT_CLEAR, *SECOND[:1])
    assert next_view(entering.state_of(bay.shop, job)).kind != "decide", "a nipple stands open: that is closed first"
    after = decide(bay, job, REDO)
    assert ahead(after)[:5] == ["p2:run", "p2:torque:rr", "p1:open:rr", "p1:run", "p1:torque:rr"]


def test_the_pass_in_hand_begins_anew(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, NOT_CLEAR)
    after = decide(bay, job, REDO)
    assert ahead(after)[:4] == ["p1:open:rr", "p1:run", "p1:torque:rr", "p2:open:rr"]


def test_what_the_card_says_ran_clear_when_it_was_done_again_is_decided(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, NOT_CLEAR, "again p1", "10:44", "10:44:20 10:44:30", "10:44 8.0, clear, capped")
    assert not undecided(entering.state_of(bay.shop, job))


@pytest.mark.parametrize("line", ["10:43 8.1, capped ?", "10:43 ? capped", "?"])
def test_one_of_which_the_card_leaves_it_empty_is_done_again_or_accepted_too(bay: Bay, job: str, line: str) -> None:
    keyed(bay, job, *BEFORE, line, *SECOND, "10:46 8.0, clear, capped", "10:50")
    state = entering.state_of(bay.shop, job)
    if state.open_nipples:
        assert next_view(state).kind == "close", "first of all"
        shut = bodies.StepDone(step="close", act="closed", pass_id="p1", nipple="rr")
        with bay.shop.write() as journal:
            journal.append(Draft("step", job, "person:t-otter", body=bodies.to_body(shut)))
        state = entering.state_of(bay.shop, job)
    view = next_view(state)
    assert (view.kind, view.pass_id, [one.key for one in view.buttons]) == ("decide", "p1", ["r", "k"])
    assert view.text.startswith("The run completed, and the card does not say whether the fluid ran clear.")
    refused = bay.run("job", "close", job)
    assert "pass p1: the card does not say whether the fluid ran clear. Do it again" in str(refused.exception)
    assert not undecided(decide(bay, job, ACCEPT))
    assert findings(bay, job)["ran-clear"]["answer"] == "no proof", "accepted, and still not seen"


def test_one_left_empty_is_done_again_where_the_job_stands(bay: Bay, job: str) -> None:
    keyed(bay, job, *BEFORE, "10:43 8.1, capped ?", *SECOND, "10:46 8.0, clear, capped", "10:50")
    after = decide(bay, job, REDO)
    assert ahead(after) == ["p1:open:rr", "p1:run", "p1:torque:rr", "road-test"] and not undecided(after)


@pytest.mark.parametrize(
    ("first", "then", "open_still"),
    [("10:43 12.0, clear, capped", "10:44 8.1 ?", False), ("10:43 12.0, capped ?", "10:44 8.1 ?", True),
     ("10:43 12.0, capped ?", "10:44 8.1, clear", False), ("10:43 12.0, clear", "- cannot be put right now", False)],
)  # fmt: skip
def test_what_is_only_read_once_more_leaves_what_was_said_of_the_fluid(
    bay: Bay, job: str, first: str, then: str, open_still: bool
) -> None:
    keyed(bay, job, *BEFORE, first, first, then, then)
    assert ("p1" in undecided(entering.state_of(bay.shop, job))) == open_still


def test_what_ran_clear_at_one_nipple_says_nothing_of_the_other_of_its_pass(bay: Bay, tmp_path: Path) -> None:
    text = BOXED.replace('nipples = ["rr"]', 'nipples = ["rr", "rl"]')
    other = text[text.index('{ id = "rr"') : text.index("}]") + 1].replace('"rr"', '"rl"').replace("right", "left")
    text = text.replace("}]", f"}}, {other}]", 1).replace("nipples_may", "nipples_may")
    text = text.replace("armed_for", 'nipples_may_be_open_together = [["rr", "rl"]]\narmed_for', 1)
    path = tmp_path / "both.toml"
    path.write_text(text, encoding="utf-8")
    both = open_job(bay, path)
    keyed(bay, both, *BEFORE[:3], "10:42", BEFORE[3], NOT_CLEAR, "10:44 8.0, clear, capped", "10:50")
    assert list(undecided(entering.state_of(bay.shop, both))) == ["p1"]
    assert findings(bay, both)["ran-clear"]["answer"] == "not met"

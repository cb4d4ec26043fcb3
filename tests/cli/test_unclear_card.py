"""A pass of which a card says that it did not run clear is decided on in the bay, as after the same key there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_empty_card import BEFORE, findings, keyed, open_job
from tests.cli.test_entering import BOXED, CARD

from witnessmark.host import entering
from witnessmark.job.screens.now import next_view
from witnessmark.job.state import ACCEPT, REDO, JobState
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
    assert (after.unclear, ahead(after)) == ((), ahead(before))
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
    assert [one["seen"] for one in gate if "run clear" in one["title"]] == ["bubbles"]


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
    assert ahead(after) == ["p1:open:rr", "p1:run", "p1:torque:rr", "road-test"] and after.unclear == ()
    said, _ = keyed(bay, job, "10:52", "10:52:20 10:52:30", "10:53 8.0, clear, capped", "10:55")
    assert "12 of 12 steps" in said or "13 of 13 steps" in said
    assert entering.state_of(bay.shop, job).unclear == () and findings(bay, job)["ran-clear"]["answer"] == "met"


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
    assert entering.state_of(bay.shop, job).unclear == ()

"""A nipple that is to be opened on the cue: what was done on it is a person's word, asked for after the run."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.job.stand import VALVE_START, Stand

from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry


@pytest.fixture
def stand() -> Iterator[Stand]:
    one = Stand()
    yield one
    one.close()


def ran(stand: Stand) -> dict[str, Any]:
    """Let the cued run begin and end; return the view that stands then."""
    stand.go_to("running", "p2")
    stand.until(lambda: stand.bodies("outcome") and stand.bodies("outcome")[-1].pass_id == "p2")
    stand.until(lambda: stand.view["kind"] != "busy" and stand.view["kind"] != "running")
    return stand.view


def last(stand: Stand) -> tuple[bodies.StepDone, Entry]:
    entry = next(one for one in reversed(stand.journal.of("J1")) if one.kind == "step")
    body = bodies.from_body(entry.kind, entry.body)
    assert isinstance(body, bodies.StepDone)
    return body, entry


def test_nothing_says_that_it_was_opened_before_a_person_does(stand: Stand) -> None:
    view = ran(stand)
    assert [one["key"] for one in view["buttons"]] == ["y", "l", "n"] and view["nipples"] == ["rl"]
    assert not [one for one in stand.bodies("step") if one.act == "opened" and one.nipple == "rl"]
    assert stand.state.open_nipples == ()


def test_a_run_that_was_stopped_says_what_is_done_at_the_nipple_before_it_asks_what_was_done_on_the_cue(
    stand: Stand,
) -> None:
    stand.go_to("running", "p2")
    stand.until(lambda: stand.state.cued)
    stand.face.shutdown(1)
    stand.until(stand.runner.over)
    stand.crash()
    stand.until(lambda: stand.view.get("kind") == "open")
    first, _, rest = stand.view["text"].partition(" This run did not complete. The control unit confirmed its stop at ")
    assert first == "Nipple rear left may be OPEN under PRESSURE: close it now." and "the screen was lost." in rest
    assert rest.endswith("Was the nipple rear left opened on the cue?")


def test_opened_on_the_cue_has_the_cues_range_and_is_the_persons(stand: Stand) -> None:
    ran(stand)
    given = last(stand)[1]
    stand.press("y")
    body, entry = last(stand)
    assert (body.act, body.on_cue, entry.done_by) == ("opened", True, "person:t-otter")
    assert entry.occurred == given.occurred and stand.state.open_nipples == ("rl",)
    assert stand.view["kind"] == "close"


def test_opened_late_lies_between_the_cue_and_the_end_of_the_run(stand: Stand) -> None:
    ran(stand)
    given = last(stand)[1]
    stand.press("l")
    body, entry = last(stand)
    assert (body.act, body.on_cue, body.said, entry.occurred.basis) == ("opened", False, "late", "typed")
    assert entry.occurred.from_ns == given.occurred.from_ns
    assert 4_000_000_000 < entry.occurred.to_ns - given.occurred.from_ns < 8_000_000_000


def test_not_opened_leaves_the_pass_undone(stand: Stand) -> None:
    ran(stand)
    stand.press("n")
    assert last(stand)[0].act == "skipped" and stand.view["kind"] == "decide"
    assert stand.view["text"].startswith("The run completed, and its nipple was not open.")
    stand.press("r")
    assert stand.state.point is not None and stand.state.point.pass_id == "p2"


def test_a_run_that_was_stopped_asks_before_it_is_decided(stand: Stand) -> None:
    stand.go_to("running", "p2")
    stand.stop()
    stand.until(lambda: stand.view["kind"] == "open")
    stand.press("y")
    assert stand.view["kind"] == "close" and stand.state.open_nipples == ("rl",)


def test_a_start_that_was_refused_asks_and_goes_back_to_the_run(stand: Stand) -> None:
    stand.unit.table[VALVE_START] = [(0.02, bytes.fromhex("7F2F22"))]
    stand.go_to("armed", "p2")
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "open")
    stand.press("n")
    assert stand.view["kind"] == "arm"


def test_a_new_runner_asks_what_the_last_one_did_not(stand: Stand) -> None:
    ran(stand)
    stand.crash()
    assert stand.view["kind"] == "open" and "cue" in stand.view["text"]

"""A vehicle without map or link: two touches tell of a run, and nothing is opened, sent or heard."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import Stand


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(grade="told", without_map=True)
    yield made
    made.close()


def tell(stand: Stand, key: str = "e", said: str = "", seconds: float = 8) -> None:
    stand.press("b")
    stand.wait(seconds)
    stand.press(key, said)


def test_two_touches_tell_a_run_as_ranges_and_the_screen_says_where_it_is_stopped(stand: Stand) -> None:
    stand.go_to("tell")
    assert "Stop it on the other tester." in stand.view["text"]
    # Without a map no machine could read a precondition either: all of it is looked at.
    wanted = "Is nobody near? Supply. Selector in park. Is the hood shut? Does the vehicle stand still"
    assert stand.view["shown"]["Look yourself before it runs"].startswith(wanted)
    stand.press("b")
    assert stand.view["kind"] == "told" and "Stop it on the other tester." in stand.view["text"]
    stand.wait(8)
    stand.press("e")
    (intent,), (outcome,) = stand.bodies("intent"), stand.bodies("outcome")
    assert (intent.grade, intent.pass_id, intent.start, intent.peer) == ("told", "p1", "", {})
    assert (outcome.result, outcome.from_mono) == ("completed", "")
    entries = [one for one in stand.journal.made if one.kind in ("intent", "outcome")]
    assert {(one.done_by, one.occurred.basis) for one in entries} == {("person:t-otter", "touch")}
    assert all(int(one.occurred.to_ns) - int(one.occurred.from_ns) == 2_000_000_000 for one in entries)


def test_a_whole_job_is_walked_with_no_link_and_no_map(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    tell(stand)
    stand.go_to("tell", "p2")
    stand.press("b")
    assert stand.view["nipples"] == ["rl"] and "Open the nipple rl now." in stand.view["text"]
    stand.press("o")
    stand.wait(5)
    stand.press("e")
    stand.go_to("done")
    stand.press("f")
    assert stand.state.status == "finished" and stand.errors == []
    assert stand.opens == 0 and stand.unit.heard == [] and "armed" not in stand.kinds()


def test_the_rest_that_is_asked_after_the_run_before_stands_before_the_next(stand: Stand) -> None:
    stand.go_to("tell", "p1")
    assert "Rest since the run before" not in stand.view["shown"]
    tell(stand)
    stand.go_to("tell", "p2")
    assert stand.view["shown"]["Rest since the run before"] == "at least 10 s"


def test_one_that_ended_early_is_decided_on_and_can_be_done_again(stand: Stand) -> None:
    stand.go_to("tell")
    tell(stand, "x", "the tester stopped by itself")
    assert stand.bodies("outcome")[0].result == "stopped" and stand.view["kind"] == "close"
    stand.press("y")
    stand.press("r")
    stand.go_to("tell", "p1")
    tell(stand)
    assert [one.result for one in stand.bodies("outcome")] == ["stopped", "completed"]


def test_one_that_nobody_saw_end_is_looked_at_and_no_stop_of_ours_is_offered(stand: Stand) -> None:
    stand.go_to("tell")
    tell(stand, "u", "was at the other wheel")
    assert stand.bodies("outcome")[0].result == "unknown" and stand.view["kind"] == "inspect"
    assert [one["key"] for one in stand.view["buttons"]] == ["1", "2", "3"]
    assert "Stop it on the other tester." in stand.view["text"]


def test_a_job_is_not_put_down_while_a_run_was_not_said_to_end(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    for command in ("pause", "abandon"):
        stand.send(do=command, why="lunch")
        stand.turn(5)
        assert "has not been said to have ended" in stand.errors[-1]["what"]
    assert stand.state.status == "open"


def test_a_crash_between_the_touches_asks_for_an_inspection(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    stand.crash()
    assert stand.view["kind"] == "inspect" and "interrupted" in stand.kinds()


def test_a_run_that_was_left_between_the_touches_says_that_it_was_only_told(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    stand.crash()
    (found,) = [one.found for one in stand.bodies("interrupted")]
    assert "told to have started on another tester" in found and "may have run" not in found


@pytest.mark.parametrize("key", ["x", "u"])
def test_how_it_ended_is_said_by_a_number(stand: Stand, key: str) -> None:
    stand.go_to("tell")
    stand.press("b")
    (button,) = [one for one in stand.view["buttons"] if one["key"] == key]
    assert len(button["reasons"]) >= 3


def test_stop_says_where_it_is_stopped(stand: Stand) -> None:
    stand.go_to("tell")
    stand.press("b")
    stand.stop()
    stand.turn()
    assert stand.errors[-1]["hint"] == "Stop it on the other tester." and stand.opens == 0


def test_one_job_may_mix_grades_and_what_was_told_counts_for_the_motors_rest() -> None:
    stand = Stand(grade="told")
    try:
        stand.go_to("tell", "p1")
        tell(stand)
        stand.grade = "sent"
        stand.crash()
        stand.go_to("busy", "p2")
        stand.arm_anyway()
        assert stand.errors[-1]["rule"] == "cool-down" and stand.acts == []
        stand.wait(20)
        stand.go_to("done")
        assert [one.grade for one in stand.bodies("intent")] == ["told", "sent"]
    finally:
        stand.close()

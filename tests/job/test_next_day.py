"""A job that is gone on with another day asks again what may have changed overnight."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.state import NEXT_DAY_S

SAFE = '[[steps_before]]\nid = "safe"\ntext = "Supports"\naffects = "made-safe"\n'
AGE = '[[steps_before]]\nid = "age"\ntext = "Container"\nact = "read"\nwhat = "container-age"\nunit = "d"\n'


@pytest.fixture
def stand() -> Iterator[Stand]:
    text = PROCEDURE.replace('[[steps_before]]\nid = "grade"', SAFE + AGE + '[[steps_before]]\nid = "grade"')
    made = Stand(procedure=text)
    made.press("y")
    made.read("3", "d")
    made.press("y", "DOT 4")
    made.press("y")
    made.send(do="pause", why="evening")
    made.until(lambda: made.view["kind"] == "paused")
    yield made
    made.close()


def test_on_another_day_supports_container_and_feed_are_asked_again_and_then_the_job_goes_on(stand: Stand) -> None:
    stand.clock.advance(NEXT_DAY_S)
    stand.press("r")
    asked = []
    for _ in range(3):
        asked.append(stand.view["step"])
        if stand.view["kind"] == "reading":
            stand.read("4", "d")
        else:
            stand.press("y")
    assert asked == ["safe", "age", "pressurise"]
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")


def test_a_nipple_that_stood_open_overnight_is_closed_before_all_else_and_opened_again_for_its_run(
    stand: Stand,
) -> None:
    stand.press("r")
    stand.go_to("arm", "p1")
    assert stand.state.open_nipples == ("rr",)
    stand.send(do="pause", why="evening")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.clock.advance(NEXT_DAY_S)
    stand.press("r")
    assert (stand.view["kind"], stand.view["nipples"], stand.view["pass_id"]) == ("close", ["rr"], "p1")
    stand.press("y")
    assert (stand.view["kind"], stand.view["step"]) == ("step", "safe")
    stand.press("y")
    stand.read("4", "d")
    stand.press("y")
    stand.read("2.0", "bar")
    assert (stand.view["kind"], stand.view["nipples"]) == ("open", ["rr"])
    stand.go_to("armed", "p1")
    assert [one.act for one in stand.bodies("step") if one.act in ("opened", "closed")] == [
        "opened",
        "closed",
        "opened",
    ]


def test_after_an_hour_it_goes_on_where_it_stood(stand: Stand) -> None:
    stand.clock.advance(3600)
    stand.press("r")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")

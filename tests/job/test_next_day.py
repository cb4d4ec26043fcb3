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


def test_after_an_hour_it_goes_on_where_it_stood(stand: Stand) -> None:
    stand.clock.advance(3600)
    stand.press("r")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")

"""The runner from job to outcome, driven through its socket."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import START, STOP, VALVE_START, VALVE_STOP, Stand


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand()
    yield made
    made.close()


def test_a_job_walks_from_its_first_step_to_its_end(stand: Stand) -> None:
    stand.go_to("done")
    stand.press("f")
    assert stand.state.status == "finished" and stand.errors == []
    assert stand.acts == [START, STOP, VALVE_START, VALVE_STOP]
    assert [one.result for one in stand.bodies("outcome")] == ["completed", "completed"]
    assert stand.state.open_nipples == () and stand.state.point is None

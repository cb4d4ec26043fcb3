"""A step of a kept procedure that is called as a word of the job's own is that step where the walk asks for it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from msgspec import structs
from tests.job.stand import Stand

from witnessmark.job.walk.fold import advance
from witnessmark.job.walk.state import JobState
from witnessmark.journal.bodies import StepDone, to_body
from witnessmark.journal.entry import Draft
from witnessmark.procedure import own

WORDS = sorted(own.OWN.difference(own.POINTS))


def bare(state: JobState) -> JobState:
    """Return a state without its points, and who worked last and when: not every word of the job's own says that."""
    return replace(state, points=(), worked=("", ""), worked_wall_ns=0, level_said=-1)


@pytest.mark.parametrize("act", ["done", "skipped"])
def test_it_is_done_or_left_out_as_any_other_step(act: str) -> None:
    stand = Stand()
    point = stand.state.point
    assert point is not None and point.step is not None
    after: dict[str, JobState] = {}
    for word in ("a-step", *WORDS):
        step = structs.replace(point.step, id=word, act="do", affects="", may_skip=True)
        state = replace(stand.state, points=(replace(point, step=step), *stand.state.points[1:]))
        body = to_body(StepDone(step=word, act="skipped" if act == "skipped" else "done", said="so"))
        entry = stand.journal.append(Draft("step", "J1", "person:t-otter", body=body))
        after[word] = replace(bare(advance(state, entry)), last_seq=0, last_wall_ns=0, worked_seq=0)
    assert after["a-step"].cursor == 1
    assert [word for word in WORDS if after[word] != after["a-step"]] == []
    stand.close()


def test_the_word_of_the_job_is_that_at_every_other_step_and_where_the_job_asks_for_it() -> None:
    stand = Stand()
    point = stand.state.point
    assert point is not None and point.step is not None
    step = structs.replace(point.step, id=own.REDO)
    state = replace(stand.state, points=(replace(point, step=step), *stand.state.points[1:]))
    redo = StepDone(step=own.REDO, act="done")
    assert state.word(redo) == "" and stand.state.word(redo) == own.REDO
    assert replace(state, decide="p1").word(redo) == own.REDO
    stand.close()

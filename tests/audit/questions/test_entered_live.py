"""Question 28: what one touch says is one, and whose entries came at once is said."""

from __future__ import annotations

from typing import Any

from tests.audit.jobs import Job
from tests.audit.shipped import ask

from witnessmark.audit.verdict import Verdict

OTTER, HERON = "person:t-otter", "person:l-heron"


def at_once(*more: tuple[float, dict[str, Any]]) -> Verdict:
    """Judge a job in which two nipples were shut with one touch and opened with the next, and what more was said."""
    job = Job()
    for at, act in ((10.0, job.close), (11.0, job.open)):
        for nipple in ("rr", "fl"):
            act(nipple, at=at, pass_id="p1", entered=11)
    for at, fields in more:
        job.step("note", at, entered=11.5, **fields)
    return ask(28, job)


def test_what_one_touch_says_of_both_nipples_of_a_pass_counts_once() -> None:
    assert at_once().answer == "met"
    assert at_once((11.2, {}), (11.3, {})).answer == "no proof"


def test_where_two_worked_at_one_screen_each_one_s_own_are_named() -> None:
    told = at_once((11.2, {"by": HERON, "entered_by": OTTER}), (11.3, {"by": HERON, "entered_by": OTTER}))
    assert told.answer == "no proof"
    assert "of t-otter" in told.text and "of l-heron" in told.text and "at the screen of t-otter" in told.text


def test_one_touch_that_has_several_passes_done_again_counts_once() -> None:
    def again(*moments: float) -> Verdict:
        job = Job()
        for number, at in enumerate(moments, 1):
            job.step("run-again", at, pass_id=f"p{number}", entered=11 + number / 10)
        return ask(28, job)

    assert again(10, 10, 10, 10, 10).answer == "met"
    assert again(10, 10.1, 10.2, 10.3, 10.4).answer == "no proof"

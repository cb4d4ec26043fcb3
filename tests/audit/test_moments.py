"""What may have been near a moment is found without looking at everything, and nothing that matters is left out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tests.audit.jobs import Job
from tests.audit.long_jobs import SHAPES
from tests.audit.procedures import WHOLE
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.moments import Moments
from witnessmark.audit.run import audit
from witnessmark.audit.verdict import Finding
from witnessmark.journal.entry import Entry

Ends = tuple[int, int]
THINGS = st.lists(st.tuples(st.integers(0, 30), st.integers(0, 12)).map(lambda one: (one[0], one[0] + one[1])))


def laid_out(things: list[Ends]) -> Moments[tuple[int, Ends]]:
    return Moments(enumerate(things), lambda one: one[1])


@given(THINGS, st.integers(0, 40), st.integers(0, 12))
def test_what_may_have_been_within_a_time_is_found_in_order(things: list[Ends], first: int, lasts: int) -> None:
    final = first + lasts
    wanted = [(place, one) for place, one in enumerate(things) if one[1] >= first and one[0] <= final]
    assert laid_out(things).within(first, final) == wanted


@given(THINGS)
def test_every_two_that_may_have_been_at_one_time_are_found_in_order(things: list[Ends]) -> None:
    every = combinations(enumerate(things), 2)
    assert list(laid_out(things).pairs()) == [
        (one, other) for one, other in every if one[1][0] <= other[1][1] and other[1][0] <= one[1][1]
    ]


@given(THINGS, st.integers(0, 40), st.integers(0, 12), st.sets(st.integers(0, 30)))
def test_the_first_in_order_after_a_moment_is_found(things: list[Ends], low: int, lasts: int, also: set[int]) -> None:
    high = low + lasts

    def holds(one: tuple[int, Ends]) -> bool:
        place, (begins, ends) = one
        return begins >= high or (ends >= low and place in also)

    wanted = next((one for one in enumerate(things) if holds(one)), None)
    assert laid_out(things).first(low, high, holds) == wanted


@given(THINGS, st.integers(0, 45))
def test_the_latest_that_was_surely_over_is_found(things: list[Ends], moment: int) -> None:
    assert laid_out(things).latest_low(moment) == max((low for low, high in things if high <= moment), default=None)


class Everything(Moments[object]):
    """Leaves nothing out, however long ago it was."""

    def within(self, first: int, final: int) -> list[object]:
        return self.things

    def pairs(self) -> Iterator[tuple[object, object]]:
        return combinations(self.things, 2)

    def first(self, low: int, high: int, holds: Callable[[object], bool]) -> object | None:
        return next((one for one in self.things if holds(one)), None)

    def latest_low(self, moment: int) -> int | None:
        return None


def both_ways(entries: tuple[Entry, ...]) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Return the findings as they are, and those of an audit that looks at everything each time."""
    questions = list(QUESTIONS.values())
    narrow = audit(entries, questions).findings
    with pytest.MonkeyPatch.context() as patch:
        for name in ("within", "pairs", "first", "latest_low"):
            patch.setattr(Moments, name, getattr(Everything, name))
        return narrow, audit(entries, questions).findings


@pytest.mark.parametrize("shape", SHAPES)
def test_looking_at_what_is_near_alone_changes_no_answer_of_a_whole_job(shape: str) -> None:
    narrow, wide = both_ways(SHAPES[shape](2))
    assert narrow == wide


ACTS = st.sampled_from(
    ["open", "close", "run", "read", "read", "low", "psi", "pressurise", "depressurise", "feed-off", "voltage", "typed"]
)
DONE = st.tuples(
    ACTS, st.sampled_from(["p1", "p2", "p4"]), st.sampled_from([0, 0.2, 3, 30, 90]), st.sampled_from([0, 1, 8, 60])
)


LET_OFF_ABOUT_WHEN_READ = [("pressurise", "p1", 0, 0), ("read", "p1", 3, 8), ("depressurise", "p1", 3, 0)]


@settings(max_examples=100, deadline=None)
@given(st.lists(DONE, max_size=24))
@example([*LET_OFF_ABOUT_WHEN_READ, ("open", "p1", 3, 0), ("close", "p1", 30, 1)])
def test_looking_at_what_is_near_alone_changes_no_answer(acts: list[tuple[str, str, float, float]]) -> None:
    job, now = Job(WHOLE), 0.0
    for act, pass_id, later, u in acts:
        now += later
        nipple = job.passes[pass_id].nipples[0]
        if act in ("open", "close"):
            (job.open(nipple, pass_id, now, u=u) if act == "open" else job.close(nipple, now, pass_id, u=u))
        elif act == "run" and job.passes[pass_id].wire_command:
            job.run(pass_id, now, now + 20)
            now += 20
        elif act == "voltage":
            job.condition("voltage", "11.9 V", now)
        elif act in ("read", "low", "psi"):
            amount = {"read": "2.0 bar", "low": "1.2 bar", "psi": "29 psi"}[act]
            job.read("feed-pressure", amount, now, pass_id=pass_id, u=u)
        elif act == "typed":
            job.read("feed-pressure", "2.0 bar", now - u, basis="typed", entered=now, u=u)
        elif act != "run":
            job.step(act, now, act, u=u)
    narrow, wide = both_ways(job.entries())
    assert narrow == wide

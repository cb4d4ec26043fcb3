"""A line of a card may be keyed in with the words that are printed before its times."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.host.test_card_walked import Walk

from witnessmark.host.card.card_printed import bare
from witnessmark.job.fluid.feed import puts_on
from witnessmark.job.walk.state import JobState
from witnessmark.job.walk.steps import Point


@pytest.fixture(scope="module")
def at() -> Callable[[Callable[[Point], bool]], JobState]:
    """Give the state of one walk as it first came to a point of which something holds."""
    walk = Walk("procedure")
    states: list[JobState] = []

    def find(holds: Callable[[Point], bool]) -> JobState:
        def seen(point: Point) -> bool:
            states.append(walk.state)
            return holds(point)

        for state in states:
            if state.point is not None and holds(state.point):
                return state
        walk.go_on(seen)
        return walk.state

    return find


@pytest.mark.parametrize(
    ("typed", "keyed"),
    [
        ("level at 10:41 500 mL", "level 10:41 500 mL"),
        ("Level 10:41 yes", "level 10:41 yes"),
        ("pressure off at 10:40", "off 10:40"),
        ("pressure off 10:40", "off 10:40"),
        ("off ?", "off ?"),
        ("filled at 10:42 with 200 mL", "filled 10:42 200 mL"),
        ("filled 10:42 ?", "filled 10:42 ?"),
        ("drawn off at 10:55 120 mL", "drawn 10:55 120 mL"),
        ("right at 10:51 tightened to 9", "right 10:51 tightened to 9"),
        ("mended at 10:42 tightened at rear-right", "mended 10:42 tightened at rear-right"),
        ("note at 10:42 it dripped", "note at 10:42 it dripped"),
        ("level at half", "level at half"),
        ("back", "back"),
        ("", ""),
    ],
)
def test_what_stands_beside_a_pass_is_taken_as_printed(
    at: Callable[[Callable[[Point], bool]], JobState], typed: str, keyed: str
) -> None:
    assert bare(at(lambda point: point.kind == "reading"), typed) == keyed


def test_the_times_of_a_point_are_taken_with_what_is_printed_before_them(
    at: Callable[[Callable[[Point], bool]], JobState],
) -> None:
    fed = at(puts_on)
    assert bare(fed, "on again at 10:43") == bare(fed, "at 10:43") == bare(fed, "10:43") == "10:43"
    reading = at(lambda point: point.kind == "reading" and bool(point.pass_id))
    assert bare(reading, " at 10:44 2.0 bar, with") == "10:44 2.0 bar, with"
    assert bare(reading, "on again at 10:43") == "on again at 10:43", "only where the feed is put on"
    assert bare(reading, "- at 10:43 the gauge was broken") == "- at 10:43 the gauge was broken"
    opens = at(lambda point: point.kind == "open")
    assert bare(opens, "opened at 10:45") == "10:45" and bare(opens, "opened at once") == "opened at once"
    run = at(lambda point: point.kind == "run")
    assert bare(run, "from 10:42:05 to 10:42:15") == bare(run, "10:42:05 to 10:42:15") == "10:42:05 10:42:15"
    assert bare(run, "from ? to 10:42") == "? 10:42" and bare(run, "from 10:42 ?") == "10:42 ?"
    assert bare(run, "to 10:42") == "to 10:42", "an end alone is no line of the card"

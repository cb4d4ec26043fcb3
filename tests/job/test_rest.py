"""The motor's rest is waited for before a nipple opens, counted down, with nothing to answer meanwhile."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.rules import HINTS, RULES


@pytest.fixture
def stand() -> Iterator[Stand]:
    """Two passes that both open before their run."""
    one = Stand(procedure=PROCEDURE.replace('order = "with"', 'order = "before"'))
    yield one
    one.close()


def test_the_rest_is_counted_down_before_the_next_nipple_opens(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.follow()  # the pressure
    stand.until(lambda: stand.view["kind"] == "open")
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "torque"
    stand.follow()
    assert stand.view["kind"] == "busy" and "motor rests for another" in stand.view["text"]
    assert stand.state.open_nipples == ()
    count, left = len(stand.journal.of("J1")), []
    while stand.view["kind"] == "busy":
        left.append(int(stand.view["text"].split(" s.")[0].split()[-1]))
        seen = stand.view["id"]
        stand.until(lambda seen=seen: stand.view["id"] != seen)
    assert left == sorted(left, reverse=True) and len(left) > 3 and left[-1] == 1
    assert stand.view["kind"] == "open" and len(stand.journal.of("J1")) == count
    stand.press("y")
    assert stand.view["kind"] == "arm" and "wait_s" not in stand.view


def test_every_rule_says_what_to_do() -> None:
    assert HINTS.keys() == RULES.keys() and all(HINTS.values())

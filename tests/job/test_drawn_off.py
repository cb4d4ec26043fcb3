"""Fluid that stands too high at the end is drawn off, and how much it was is a reading."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.walk.fold import fold

BEHIND = """[[steps_after]]
id = "topped-up"
text = "Fill it up"
act = "volume"
what = "volume-in"
unit = "mL"
affects = "level-set"
[[steps_after]]
id = "level"
text = "Level"
act = "read"
what = "level"
unit = "mL"
limit = { low = "400 mL", high = "600 mL" }
[[steps_after]]
id = "road-test\""""


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=PROCEDURE.replace('[[steps_after]]\nid = "road-test"', BEHIND))
    while made.view.get("step") != "let-off-to-fill":
        made.follow()
    made.press("o")
    yield made
    made.close()


def read(stand: Stand) -> list[tuple[str, str, str, str]]:
    return [(one.what, one.amount.value, one.step, one.affects) for one in stand.bodies("reading")][-2:]


def test_in_the_place_of_a_filling_it_sets_the_level(stand: Stand) -> None:
    stand.press("l")
    assert (stand.view["what"], stand.view["step"], stand.view["unit"]) == ("volume-drawn", "topped-up", "mL")
    assert "draw fluid off" in stand.view["text"]
    stand.read("194", "mL")
    assert read(stand)[-1] == ("volume-drawn", "194", "topped-up", "level-set")
    assert stand.view["what"] == "level"


def test_nothing_is_said_before_the_volume_is(stand: Stand) -> None:
    seen = len(stand.journal.made)
    stand.press("l")
    stand.press("x")
    assert (stand.view["what"], len(stand.journal.made)) == ("volume-in", seen)


def test_where_the_level_was_read_it_stands_beside_the_walk_and_the_level_is_read_again(stand: Stand) -> None:
    stand.read("0", "mL")
    stand.read("694", "mL")
    assert "l" in [one["key"] for one in stand.view["buttons"]]
    stand.press("l")
    assert stand.view["most"] == "694", "more than was read to be in it is asked about once more"
    stand.read("194", "mL")
    assert read(stand)[-1] == ("volume-drawn", "194", "drawn-off", "")
    assert stand.view["what"] == "level"
    stand.read("500", "mL")
    assert stand.view["step"] == "road-test"
    assert fold(stand.journal.of("J1")).points == stand.state.points


def test_where_the_feed_is_still_on_it_is_let_off_before_fluid_is_drawn_off() -> None:
    level = "[[steps_after]]" + BEHIND.split("[[steps_after]]")[2]
    stand = Stand(
        procedure=PROCEDURE.replace('[[steps_after]]\nid = "road-test"', level + '[[steps_after]]\nid = "road-test"')
    )
    while stand.view.get("step") != "level":
        stand.follow()
    stand.read("694", "mL")
    stand.press("l")
    assert "ON. Let it off before the lid comes off" in stand.view["text"] and stand.state.pressurised
    stand.press("x")
    assert stand.view["what"] == "level"
    stand.press("l")
    stand.press("o")
    assert (stand.view["what"], stand.state.pressurised) == ("volume-drawn", False)
    stand.read("194", "mL")
    assert stand.view["what"] == "level"
    stand.close()

"""A bottle that holds too little or was not read: its pass is done again with one key, and what ran counts together."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.walk.fold import fold

BOTTLE = """[[steps_after_each_pass]]
id = "bottle"
text = "Read the bottle."
act = "volume"
what = "volume"
unit = "mL"
whole_pass = true
[[steps_after]]
id = "road-test\""""
BANDED = PROCEDURE.replace('[[steps_after]]\nid = "road-test"', BOTTLE).replace(
    'id = "p1"\n', 'id = "p1"\nvolume = { low = "120 mL", high = "300 mL" }\n'
)


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=BANDED.replace("invented = true\n", 'invented = true\nreservoir = "800 mL"\n', 1))
    to_bottle(made)
    yield made
    made.close()


def to_bottle(stand: Stand) -> None:
    while (stand.view.get("step"), stand.view.get("pass_id")) != ("bottle", "p1"):
        stand.follow()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view.get("buttons", ())]


def bottles(stand: Stand) -> list[tuple[str, bool | None]]:
    return [(one.amount.value, one.within) for one in stand.bodies("reading") if one.what == "volume"]


def test_too_little_is_run_on_with_the_nipple_opened_again_and_counts_together(stand: Stand) -> None:
    stand.read("80", "mL")
    assert "It was 80 mL, outside the limits (120 mL to 300 mL)" in stand.view["text"]
    assert "do the pass again: both count, and are judged together" in stand.view["text"]
    assert keys(stand) == ["k", "w", "s"]
    stand.do(do="reading", value="60", unit="mL")
    assert bottles(stand) == [("80", False)], "nothing more ran: the nipple is shut"
    stand.press("s")
    assert [(one.pass_id, one.said) for one in stand.bodies("step") if one.step == "run-again"] == [
        ("p1", "too little was in its bottle")
    ]
    assert stand.state.tank.doubt == "", "how much the first took was read"
    opened = len([one for one in stand.bodies("step") if one.act == "opened"])
    to_bottle(stand)
    assert len([one for one in stand.bodies("step") if one.act == "opened"]) == opened + 1
    assert "80 mL were read of this pass before: both count, and are judged together." in stand.view["text"]
    stand.read("60", "mL")
    assert bottles(stand)[-1] == ("60", True)
    assert stand.view["pass_id"] == "p2"
    assert fold(stand.journal.of("J1")).points == stand.state.points


def test_too_little_together_is_said_so(stand: Stand) -> None:
    stand.read("80", "mL")
    stand.press("s")
    to_bottle(stand)
    stand.read("20", "mL")
    assert "It was 20 mL, 100 mL with what was read of this pass before, outside" in stand.view["text"]
    stand.press("s")
    to_bottle(stand)
    stand.read("0.25", "L")
    assert bottles(stand)[-1] == ("0.25", True), "enough in all, and in no bottle too much"


def test_a_pass_that_is_done_again_may_fill_its_bottle_again_but_never_above_the_most(stand: Stand) -> None:
    stand.read("80", "mL")
    stand.press("s")
    to_bottle(stand)
    stand.read("310", "mL")
    assert "It was 310 mL, 390 mL with what was read of this pass before" in stand.view["text"]
    assert keys(stand) == ["k", "w"], "nothing more is to run"


def test_one_that_was_misread_counts_no_more(stand: Stand) -> None:
    stand.read("80", "mL")
    stand.press("w", "misread: the wrong mark was read")
    assert stand.view["kind"] == "reading"
    stand.read("60", "mL")
    assert "It was 60 mL, outside" in stand.view["text"]


def test_after_one_that_was_spilled_its_pass_is_offered_again_until_the_next_is_gone_on_with(stand: Stand) -> None:
    stand.press("n", "it was spilled")
    assert stand.view["pass_id"] == "p2" and "s" in keys(stand)
    stand.press("s")
    assert [one.said for one in stand.bodies("step") if one.step == "run-again"] == ["its bottle was not read"]
    assert stand.view["pass_id"] == "p1" or stand.view["step"] == "level-look"
    to_bottle(stand)
    stand.press("n", "it was spilled")
    while stand.view["kind"] != "arm":
        stand.follow()
    assert stand.view["pass_id"] == "p2" and "s" in keys(stand)
    while stand.view.get("what") != "torque":
        stand.follow()
    assert stand.view["pass_id"] == "p2" and "s" not in keys(stand)

"""A procedure may let one touch say several things: opened with the answers, closed with the torque, a choice."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.host.closing import open_items

FEW = (
    PROCEDURE.replace("invented = true\n", "invented = true\nopened_at_arming = true\n", 1)
    .replace('affects = "torqued"', 'affects = "torqued"\nalso = ["closed", "clear", "capped"]')
    .replace(
        'act = "check"\naffects = "fluid-grade"', 'act = "check"\naffects = "fluid-grade"\nchoices = ["DOT 3", "DOT 4"]'
    )
)


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=FEW)
    made.press("2")
    yield made
    made.close()


def test_a_choice_is_one_touch_and_says_what_was_read_off(stand: Stand) -> None:
    assert [(one.step, one.answer) for one in stand.bodies("step")] == [("grade", "DOT 4")]


def test_the_answers_before_arming_say_that_the_nipple_is_open(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    assert stand.view["questions"][0]["id"] == "opened" and "rear right" in stand.view["questions"][0]["text"]
    stand.answer()
    stand.go_to("armed")
    assert [one.nipple for one in stand.bodies("step") if one.act == "opened"] == ["rr"]
    assert stand.kinds().index("armed") > stand.kinds().index("step")
    entry = next(one for one in stand.journal.of("J1") if one.body.get("act") == "opened")
    assert entry.occurred.to_ns <= entry.recorded.wall_ns, "it was open before it was said to be"


def test_a_nipple_that_is_not_open_refuses_and_nothing_is_sent(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.answer(opened=False)
    assert "not open" in stand.errors[-1]["what"] and not stand.acts
    assert not [one for one in stand.bodies("step") if one.act == "opened"]


def test_it_may_still_be_opened_while_it_runs_with_a_reason(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.press("l", "the spanner was not on")
    assert stand.view["kind"] == "arm" and "opened" not in [one["id"] for one in stand.view["questions"]]


def test_the_torque_says_closed_clear_and_capped_and_its_time_begins_with_the_end_of_the_run(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.follow()
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "torque"
    stand.wait(9)
    stand.read("9", "N.m")
    (torque,) = (one for one in stand.bodies("reading") if one.what == "torque")
    assert torque.also == ("closed", "clear", "capped") and stand.state.open_nipples == ()
    entry = next(one for one in stand.journal.of("J1") if one.body.get("what") == "torque")
    assert entry.occurred.basis == "touch" and entry.occurred.to_ns - entry.occurred.from_ns >= 9 * 10**9


def test_a_torque_outside_its_limits_closes_once_and_is_read_again(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.follow()
    stand.go_to("reading", "p1")
    stand.read("12", "N.m")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "torque")
    stand.read("9", "N.m")
    assert ["closed" in one.also for one in stand.bodies("reading") if one.what == "torque"] == [True, False]


def test_where_bubbles_are_expected_the_note_is_shown_and_one_key_says_that_they_came() -> None:
    noted = 'order = "before"\nclear = false\nnote = "bubbles are expected"\n'
    stand = Stand(procedure=FEW.replace('order = "before"\n', noted))
    stand.press("2")
    while stand.view.get("what") != "torque":
        stand.follow()
    assert "Noted for this pass: bubbles are expected" in stand.view["text"]
    assert [one["key"] for one in stand.view["buttons"]] == ["b", "u"]
    stand.press("b")
    seen = stand.bodies("step")[-1]
    assert (seen.step, seen.act, seen.pass_id, seen.nipple) == ("not-clear-as-expected", "confirmed", "p1", "rr")
    assert stand.view["what"] == "torque" and "recorded that it was not clear" in stand.view["text"]
    assert [one["label"] for one in stand.view["buttons"]] == ["it is taken back: it was not so"]
    stand.press("b")
    assert stand.bodies("step")[-1].answer == "not so after all" and "not clear, as" not in stand.view["text"]
    stand.press("b")
    stand.read("9", "N.m")
    assert (stand.view["pass_id"], stand.state.decide) == ("p2", "")
    stand.close()


def test_where_it_is_asked_to_run_clear_no_key_says_that_bubbles_are_expected(stand: Stand) -> None:
    while stand.view.get("what") != "torque":
        stand.follow()
    assert [one["key"] for one in stand.view["buttons"]] == ["n", "u"]


def test_fluid_that_did_not_run_clear_is_said_and_the_pass_is_to_be_decided(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.follow()
    stand.go_to("reading", "p1")
    stand.press("n", "bubbles")
    assert [one.said.partition(":")[0] for one in stand.bodies("step") if one.looked] == ["bubbles"]
    assert stand.view["kind"] == "close"
    assert stand.view["text"].endswith("The run completed, and the fluid did not run clear.")
    stand.press("y")
    assert stand.view["kind"] == "decide"
    assert stand.view["text"].startswith("The run completed, and the fluid did not run clear. Do the pass again")
    assert "pass p1: The run completed, and the fluid did not run clear. Do it again" in open_items(stand.state)[0]
    stand.press("r")
    assert stand.view["kind"] == "reading"

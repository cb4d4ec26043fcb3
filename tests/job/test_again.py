"""Steps that may repeat: done again later with a key of their own, each time an entry of its own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.keys.again import offered
from witnessmark.job.walk.fold import fold
from witnessmark.journal.bodies import StepDone, to_body
from witnessmark.journal.entry import Draft
from witnessmark.procedure.mending import BLED, NOTHING

FILLED = """[[steps_before]]
id = "filled"
text = "Fill the reservoir to the upper mark and read how much"
act = "volume"
what = "volume-in"
unit = "mL"
affects = "refill"
may_repeat = true
"""
LEAKS = """[[steps_after]]
id = "leaks"
text = "Nothing is wet"
act = "check"
affects = "leak-check"
may_repeat = true
"""
REPEATS = PROCEDURE.replace(
    'affects = "pressurise"', 'affects = "pressurise"\nmay_repeat = true\ncaution = "Over 2.4 bar it bursts."'
)
for name, step in (("pressurise", FILLED), ("road-test", LEAKS)):
    after = f'[[steps_{"before" if name == "pressurise" else "after"}]]\nid = "{name}"'
    REPEATS = REPEATS.replace(after, step + after)


def begun(procedure: str) -> Stand:
    """Return a job whose container was read and whose reservoir was filled."""
    made = Stand(procedure=procedure)
    made.press("y", "DOT 4")
    made.read("400", "mL")
    return made


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = begun(REPEATS)
    yield made
    made.close()


def again(stand: Stand) -> dict[str, str]:
    return {one["key"]: one["label"] for one in stand.view.get("buttons", ()) if one["label"].startswith("again")}


def follow_to(stand: Stand, step: str) -> None:
    for _ in range(100):
        if stand.view.get("step") == step:
            return
        stand.follow()
    raise AssertionError(stand.view)


def done(stand: Stand, step: str) -> list[Any]:
    return [one for one in stand.journal.of("J1") if one.body.get("step") == step]


def test_a_step_is_offered_once_it_was_done_and_keeps_its_key(stand: Stand) -> None:
    assert again(stand) == {"c": "again: Fill the reservoir to the upper ..."}
    stand.press("y")
    stand.go_to("open", "p1")
    assert list(again(stand)) == ["c", "d"]


def test_one_key_takes_it_up_and_it_is_an_entry_of_its_own_while_the_job_stands_where_it_stood(stand: Stand) -> None:
    stand.press("y")
    stand.go_to("open", "p1")
    stand.press("d")
    assert stand.view["caution"] == "Over 2.4 bar it bursts.", "its caution is shown each time"
    where = stand.state.cursor
    stand.press("y")
    assert len(done(stand, "pressurise")) == 2 and stand.state.cursor == where + 1
    assert (stand.view["kind"], stand.view["pass_id"], stand.view["nipples"]) == ("open", "p1", ["rr"])
    stand.go_to("done")
    assert stand.state.point is None


def test_before_a_filling_the_feed_is_let_off_and_after_it_its_pressure_is_put_on_and_read_anew(stand: Stand) -> None:
    stand.press("y")
    stand.go_to("open", "p1")
    stand.press("c")
    assert stand.view["text"].startswith("The feed's pressure is ON. Let it off before the lid comes off: fluid sprays")
    assert "Fill the reservoir to the upper mark" in stand.view["text"] and again(stand) == {}
    assert [one["key"] for one in stand.view["buttons"]] == ["o", "x"]
    stand.press("x")
    assert stand.view["kind"] == "open" and not done(stand, "let-off-to-fill"), "not filled after all"
    stand.press("c")
    stand.press("o")
    assert not stand.state.pressurised
    assert (stand.view["kind"], stand.view["step"], again(stand)) == ("reading", "filled", {})
    stand.read("80", "mL")
    assert [one.body["amount"]["value"] for one in done(stand, "filled")] == ["400", "80"]
    assert stand.view["step"] == "pressurise"
    stand.press("y")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure"), (
        "what was read before holds no more"
    )
    stand.read("2.0", "bar")
    assert (stand.view["kind"], stand.view["pass_id"], stand.view["nipples"]) == ("open", "p1", ["rr"])
    stand.go_to("done")
    assert fold(stand.journal.of("J1")).points == stand.state.points


@pytest.mark.parametrize(
    ("affects", "what"),
    [("empty", "volume-removed"), ("level-set", "volume-in"), ("refill", ""), ("", "volume-removed"), ("empty", "")],
)
def test_the_lid_comes_off_for_whatever_is_done_in_the_reservoir(affects: str, what: str) -> None:
    own = FILLED.replace('"refill"', f'"{affects}"').replace('"volume-in"', f'"{what or "level"}"')
    stand = begun(REPEATS.replace(FILLED, own if what else own.replace('"volume"', '"read"')))
    if stand.view["step"] == "level-look":
        stand.fill_up()
    stand.press("y")
    stand.press("c")
    assert stand.view["step"] == "let-off-to-fill"
    stand.close()


@pytest.mark.parametrize("own", ['also = ["depressurise"]', 'also = ["feed-off"]'])
def test_a_step_that_lets_the_feed_off_itself_is_asked_for_as_it_stands(own: str) -> None:
    stand = begun(REPEATS.replace(FILLED, FILLED + own + "\n"))
    stand.press("y")
    stand.press("c")
    assert stand.view["step"] == "filled"
    stand.close()


def test_also_where_the_procedure_itself_has_it_filled_under_pressure_the_feed_is_let_off_first() -> None:
    each = FILLED.replace("steps_before", "steps_after_each_pass").replace('"filled"', '"topped"')
    stand = begun(REPEATS.replace("[[steps_after_each_pass]]", each + "[[steps_after_each_pass]]", 1))
    stand.press("y")
    stand.go_to("step", "p1")
    assert stand.view["step"] == "let-off-to-fill" and "x" not in [one["key"] for one in stand.view["buttons"]]
    stand.close()


def test_an_open_nipple_is_shut_before_the_feed_is_let_off_and_its_lid_comes_off(stand: Stand) -> None:
    stand.press("y")
    stand.go_to("close", "p1")
    stand.press("c")
    assert stand.view["kind"] == "close" and stand.state.open_nipples and stand.state.pressurised
    stand.press("y")
    assert stand.view["step"] == "let-off-to-fill"
    stand.press("o")
    stand.read("80", "mL")
    follow_to(stand, "pressurise")
    after = stand.state.points[stand.state.cursor + 1]
    assert (stand.state.pressurised, after.pass_id) == (False, "p2"), "on again before the next pass"


def test_what_belongs_to_a_visit_stays_of_it_and_what_does_not_is_of_the_pass_in_hand_or_none() -> None:
    each = REPEATS.replace("[[steps_after]]", "[[steps_after_each_pass]]").replace(
        'affects = "torqued"', 'affects = "torqued"\nmay_repeat = true'
    )
    stand = begun(each)
    stand.press("y")
    stand.go_to("arm", "p2")
    follow_to(stand, "leaks")
    where = {point.step.id: (point.pass_id, point.nipple) for point in offered(stand.state).values() if point.step}
    stand.close()
    assert where["torque"] == ("p2", "rl") and where["leaks"] == ("", "") and where["filled"] == ("", "")


def test_what_was_taken_up_can_be_left_again_without_saying_anything_of_it(stand: Stand) -> None:
    stand.press("c")
    stand.press("x")
    assert stand.view["step"] == "pressurise" and len(done(stand, "filled")) == 1


def test_a_new_runner_goes_on_with_it(stand: Stand) -> None:
    stand.press("c")
    stand.crash()
    stand.turn()
    assert (stand.view["kind"], stand.view["step"]) == ("reading", "filled")


def test_none_is_offered_while_it_is_asked_for_a_run_or_decided(stand: Stand) -> None:
    stand.press("y")
    stand.go_to("arm", "p1")
    assert again(stand) == {}
    stand.go_to("running")
    stand.stop()
    stand.until(lambda: stand.view["kind"] not in ("running", "busy"))
    assert stand.view["kind"] in ("close", "decide") and again(stand) == {}


def test_a_pass_done_again_asks_nothing_that_was_repeated_in_it(stand: Stand) -> None:
    stand.press("y")
    stand.go_to("open", "p1")
    stand.press("c")
    stand.press("o")
    stand.read("80", "mL")
    stand.go_to("running")
    stand.stop()
    stand.until(lambda: stand.view["kind"] not in ("running", "busy"))
    if stand.view["kind"] == "close":
        stand.press("y")
    stand.press("r")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    assert not any(one.again for one in stand.state.points)


def test_a_check_done_again_may_say_no_and_after_the_last_step_too(stand: Stand) -> None:
    stand.press("y")
    stand.go_to("done")
    assert list(again(stand)) == ["c", "d", "g"]
    stand.press("g")
    stand.press("n", "it leaks")
    stand.press("x")
    assert stand.view["kind"] == "done"
    assert [one.body["act"] for one in done(stand, "leaks")] == ["confirmed", "skipped"]


@pytest.mark.parametrize(
    ("why", "looked"), [("it leaks", True), ("a drop at the thread", True), ("cannot be seen", False)]
)
def test_a_no_says_that_it_was_looked_at_unless_it_could_not_be_seen(stand: Stand, why: str, looked: bool) -> None:
    stand.press("y")
    stand.go_to("done")
    stand.press("g")
    stand.press("n", why)
    assert done(stand, "leaks")[-1].body.get("looked", False) is looked


@pytest.mark.parametrize("why", [BLED, NOTHING])
def test_before_a_yes_after_a_no_it_is_said_what_was_mended_or_that_nothing_was(stand: Stand, why: str) -> None:
    stand.press("y")
    stand.go_to("done")
    stand.press("g")
    assert next(one for one in stand.view["buttons"] if one["key"] == "y").get("asks", False) is False
    stand.press("n", "it leaks")
    assert "It was not right when it was looked at. Put it right, say what was mended" in stand.view["text"]
    keys = {one["key"]: one for one in stand.view["buttons"]}
    assert "y" not in keys and why in keys["w"]["reasons"]
    stand.press("w")
    assert not done(stand, "mended")  # without words nothing is entered
    stand.press("w", why)
    (said,) = done(stand, "mended")
    assert (said.body["answer"], said.body.get("mended", "")) == (why, "")
    if why == BLED:
        assert stand.view["text"].startswith("Nothing was bled since it was not right")
        stand.press("n")
    assert stand.view["step"] == "leaks"
    stand.press("y")
    assert done(stand, "leaks")[-1].body["act"] == "confirmed"
    stand.press("g")
    assert "It was not right" not in stand.view["text"]


def test_a_check_that_the_touch_says_only_besides_is_asked_what_was_mended_too() -> None:
    pumped = LEAKS.replace('affects = "leak-check"', 'affects = "pedal-pumped"\nalso = ["leak-check", "pedal-check"]')
    stand = begun(REPEATS.replace(LEAKS, pumped))
    stand.press("y")
    follow_to(stand, "leaks")
    stand.press("n", "it leaks")
    assert "It was not right when it was looked at." in stand.view["text"]
    stand.press("w", NOTHING)
    stand.press("y")
    assert stand.view["step"] != "leaks"
    stand.close()


def test_after_a_leak_a_pass_is_bled_again_and_every_check_behind_the_passes_comes_again() -> None:
    stand = begun(REPEATS)
    stand.press("y")
    follow_to(stand, "leaks")
    assert "e" not in [one["key"] for one in stand.view["buttons"]], "nothing is wet yet"
    stand.press("n", "it leaks")
    again = next(one for one in stand.view["buttons"] if one["key"] == "e")
    assert again["starts"] == list(dict.fromkeys(one.pass_id for one in stand.state.points if one.pass_id))
    assert "A circuit that is opened for it is bled again" in stand.view["text"]
    assert again["reasons"][0] == "p1 rear right: bled once more for what was seen"
    stand.press("e", "p9 its circuit was opened")
    assert stand.view["step"] == "leaks", "a pass that is none takes nothing up"
    behind = [one.id for one in stand.state.points[stand.state.cursor :]]
    stand.press("e", again["reasons"][0])
    assert done(stand, "run-again")[-1].body["said"] == "rear right: bled once more for what was seen"
    assert (done(stand, "run-again")[-1].body["pass_id"], stand.view["pass_id"]) == ("p1", "p1")
    opened = [one for one in stand.journal.of("J1") if one.body.get("act") == "opened"]
    follow_to(stand, "leaks")
    assert len([one for one in stand.journal.of("J1") if one.body.get("act") == "opened"]) == len(opened) + 1
    assert [one.id for one in stand.state.points[stand.state.cursor :]] == behind
    stand.press("w", BLED)
    stand.press("y")
    assert fold(stand.journal.of("J1")).points == stand.state.points
    stand.close()


def test_another_pass_first_is_offered_still_and_loses_nothing(stand: Stand) -> None:
    stand.press("c")
    stand.read("80", "mL")
    stand.press("y")
    assert stand.view["kind"] == "reading" and "t" in [one["key"] for one in stand.view["buttons"]]
    stand.press("t", "p2 the hose is there")
    assert stand.state.points[stand.state.cursor].pass_id == "p2"
    ids = [one.id for one in stand.state.points]
    assert ids.count("filled") >= 2 and ids.index("p2:run") < ids.index("p1:run")


def test_an_entry_that_takes_up_what_may_not_be_repeated_changes_nothing(stand: Stand) -> None:
    body = StepDone(step="do-again", act="confirmed", answer="grade")
    stand.journal.append(Draft("step", "J1", "person:x", body=to_body(body)))
    assert fold(stand.journal.of("J1")).points == stand.state.points


PUMPED = LEAKS.replace('affects = "leak-check"', 'affects = "pedal-pumped"')
LEVEL = '[[steps_after]]\nid = "level"\ntext = "Level"\nact = "read"\nwhat = "level"\nunit = "mL"\n'


def test_a_pedal_that_is_pumped_again_has_the_level_read_after_it() -> None:
    stand = begun(REPEATS.replace(LEAKS, PUMPED + LEVEL))
    follow_to(stand, "level")
    stand.read("300", "mL")
    assert stand.view["step"] == "road-test"
    stand.press(next(key for key, label in again(stand).items() if "Nothing is wet" in label))
    stand.press("y")
    assert stand.view["step"] == "level" and "x" not in [one["key"] for one in stand.view["buttons"]], "not put off"
    stand.read("290", "mL")
    assert stand.view["step"] == "road-test"
    stand.close()

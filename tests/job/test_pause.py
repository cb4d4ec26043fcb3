"""A pause is taken at once, has what stands open shut with one key, and never passes over what was left as it was."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.dates import early
from tests.job.stand import START, Stand
from tests.job.test_mend_safe import MODE_ON, MODES

from witnessmark.cli.bay.goodbye import goodbye
from witnessmark.job.amiss import not_safe
from witnessmark.job.walk.standing import standing
from witnessmark.journal import bodies

ROLLS = MODES.replace(MODE_ON, f'{MODE_ON}caution = "It can roll: chocks before this."\n')
MODE = "The service mode is on: It can roll: chocks before this."


@pytest.fixture
def stand() -> Iterator[Stand]:
    """Paused while armed, with the nipple open and the feed under pressure."""
    made = early(Stand())
    made.go_to("armed", "p1")
    made.send(do="pause", why="called away")
    made.until(lambda: made.view["kind"] == "paused")
    yield made
    made.close()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view["buttons"]]


def acts(stand: Stand) -> list[str]:
    return [one.act for one in stand.bodies("step") if one.act in ("opened", "closed")]


def test_it_is_taken_at_once_and_its_entry_says_what_stood_open(stand: Stand) -> None:
    paused = stand.bodies("state")[-1]
    assert (paused.state, paused.open_nipples, paused.pressurised) == ("paused", ("rr",), True)
    assert stand.state.armed is None and START not in stand.acts


def test_what_was_touched_right_before_it_stands_in_its_entry_though_it_was_not_on_disk_yet() -> None:
    stand = Stand()
    stand.go_to("open", "p1")
    stand.send(do="key", view=stand.view["id"], key="y")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    assert stand.bodies("state")[-1].open_nipples == ("rr",) and acts(stand) == ["opened"]
    stand.close()


def test_one_key_says_that_the_nipple_is_shut_and_the_next_that_the_pressure_is_off(stand: Stand) -> None:
    assert "Close the nipple rear right now: the pressure is on" in stand.view["text"]
    stand.press("y")
    assert acts(stand) == ["opened", "closed"] and stand.state.open_nipples == ()
    assert "under PRESSURE" in stand.view["text"]
    stand.press("o")
    assert not stand.state.pressurised and keys(stand) == ["r"]
    assert standing(stand.state) == ()


def test_the_way_on_stands_on_every_screen_of_a_pause(stand: Stand) -> None:
    for key in ("n", "n"):
        assert keys(stand)[-1] == "r"
        stand.press(key)
    assert keys(stand) == ["y", "r"]


def test_what_was_said_to_stay_can_still_be_shut_and_let_off(stand: Stand) -> None:
    for key in ("n", "n", "y", "o"):
        stand.press(key)
    assert keys(stand) == ["r"] and standing(stand.state) == ()


def test_what_stays_open_is_a_fact_of_its_own_and_first_of_all_when_the_job_goes_on(stand: Stand) -> None:
    stand.press("n")
    stand.press("n")
    said = [(one.step, one.nipple) for one in stand.bodies("step")[-2:]]
    assert said == [("left-open", "rr"), ("pressure-stays-on", "")]
    assert "Nipple rear right was left OPEN when the job was paused: close it." in stand.view["stands"]
    stand.crash()
    stand.clock.advance(2880)
    stand.press("r")
    assert (stand.view["kind"], stand.view["nipples"]) == ("close", ["rr"])
    assert "Close it first of all" in stand.view["text"]
    stand.press("y")
    assert stand.view["step"] == "level-look"
    stand.press("y")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")


def test_one_that_was_shut_before_the_job_went_on_was_so_some_time_since_the_pause(stand: Stand) -> None:
    stand.clock.advance(600)
    stand.press("r")
    stand.press("b")
    entry = next(one for one in stand.journal.of("J1") if one.body.get("act") == "closed")
    paused = next(one for one in stand.journal.of("J1") if one.kind == "state")
    assert (
        entry.occurred.from_ns == paused.recorded.wall_ns
        and 0 <= entry.recorded.wall_ns - entry.occurred.to_ns <= 10**8
    )
    assert entry.occurred.basis == "typed"


def test_a_feed_that_was_let_off_is_put_on_again_before_its_pressure_is_read(stand: Stand) -> None:
    stand.press("y")
    stand.press("o")
    stand.press("r")
    assert stand.view["step"] == "level-look", "while the lid can come off"
    stand.press("y")
    assert stand.view["step"] == "pressurise", "at once: no reading is old yet"
    stand.press("y")
    stand.press("y")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    assert stand.state.reading("feed-pressure") is None


def test_a_cue_that_nobody_answered_is_asked_for_before_its_nipple_is_shut() -> None:
    stand = Stand()
    stand.go_to("running", "p2")
    stand.until(lambda: stand.view["kind"] == "open")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    assert keys(stand) == ["y", "l", "n", "r"]
    stand.press("y")
    assert stand.state.open_nipples == ("rl",) and "Close the nipple rear left now" in stand.view["text"]
    stand.press("y")
    assert stand.state.open_nipples == ()
    stand.close()


def test_with_nothing_open_there_is_only_the_way_on() -> None:
    stand = Stand()
    stand.press("y", "DOT 4")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    assert keys(stand) == ["r"]
    stand.close()


def paused_and_on(stand: Stand, key: str = "") -> None:
    """Pause, press a key if any, and go on; the level is looked at."""
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    if key:
        stand.press(key)
    stand.press("r")
    assert stand.view["step"] == "level-look"
    stand.press("y")


@pytest.mark.parametrize("grade", ["sent", "told"])
def test_a_pass_that_is_still_to_run_has_its_pressure_read_again_however_short_the_pause(grade: str) -> None:
    stand = Stand(grade=grade)  # type: ignore[arg-type]
    stand.go_to("open", "p1")
    stand.press("y")
    paused_and_on(stand, "y")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "feed-pressure")
    assert not {"n", "x"} & {one["key"] for one in stand.view.get("buttons", ())}, "it is not left out"
    stand.read("2.0", "bar")
    if grade == "told":
        stand.answer()
    assert stand.view["kind"] == "open", "it was shut, and is opened again"
    stand.press("y")
    stand.go_to("running" if grade == "sent" else "tell", "p1")
    assert stand.state.open_nipples == ("rr",)
    assert len([one for one in stand.bodies("reading") if one.what == "feed-pressure"]) == 2
    stand.close()


def test_where_it_was_not_read_yet_or_the_run_is_over_it_is_not_asked_for_besides() -> None:
    stand = Stand()
    stand.go_to("reading", "p1")
    paused_and_on(stand)
    stand.go_to("open", "p1")
    assert len(stand.bodies("reading")) == 1
    stand.go_to("close", "p1")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("y")
    stand.press("r")
    assert stand.view["what"] == "torque"
    stand.close()


def test_let_off_to_fill_after_a_pause_it_is_put_on_before_it_is_read_and_read_once() -> None:
    stand = Stand()
    stand.go_to("open", "p1")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("r")
    stand.press("o")
    stand.fill_up()
    assert stand.view["step"] == "pressurise"
    stand.press("y")
    assert stand.view["what"] == "feed-pressure"
    stand.read("2.0", "bar")
    assert stand.view["kind"] == "open"
    stand.close()


def test_a_service_mode_is_told_with_its_caution_from_when_it_is_entered_until_it_is_left() -> None:
    stand = early(Stand(procedure=ROLLS))
    stand.press("2")
    stand.press("y")
    assert stand.view["step"] == "mode-on" and "stands" in stand.view and MODE not in stand.view["stands"]
    stand.press("y")
    assert stand.view["stands"] == ["The feed's pressure is on.", MODE]
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    assert MODE in stand.view["stands"] and MODE in goodbye(stand.view, [], {}, gone=True)
    left = bodies.StepDone(step="mode-off", act="done", affects="service-mode-off")
    assert MODE not in standing(not_safe.note(stand.state, left))
    stand.close()

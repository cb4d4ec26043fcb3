"""The reservoir is looked at before a pass where it may be low; what was begun before it ran empty is done again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import pytest
from tests.audit.shipped import QUESTIONS
from tests.job.dates import early
from tests.job.stand import PROCEDURE, START, TECHNICIAN, Stand

from witnessmark.audit.case import open_case
from witnessmark.audit.grounds import unwatched
from witnessmark.audit.run import audit
from witnessmark.job.allowed import rules
from witnessmark.job.fluid.tank import SEEN_S
from witnessmark.job.reasons import SPILLED
from witnessmark.job.walk.fold import fold
from witnessmark.journal.entry import Draft
from witnessmark.report.facts import facts

FILL = '[[steps_before]]\nid = "fill"\ntext = "Fill"\naffects = "refill"\n'
BOTTLE = """[[steps_after_each_pass]]
id = "bottle"
text = "Bottle"
act = "volume"
what = "volume"
unit = "mL"
whole_pass = true
[[steps_after]]
id = "level"
text = "Level"
act = "read"
what = "level"
unit = "mL"
[[steps_after]]
id = "road-test\""""
TEXT = (
    PROCEDURE.replace("invented = true\n", 'invented = true\nreservoir = "500 mL"\n', 1)
    .replace('[[steps_before]]\nid = "grade"', FILL + '[[steps_before]]\nid = "grade"')
    .replace('[[steps_after]]\nid = "road-test"', BOTTLE)
)


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = early(Stand(procedure=TEXT))
    yield made
    made.close()


def do_pass(stand: Stand, ml: str) -> None:
    """Do what the walk asks up to a bottle's reading, and read it."""
    while stand.view.get("what") != "volume":
        stand.follow()
    stand.read(ml, "mL")


def looks(stand: Stand) -> bool:
    return stand.view.get("step") == "level-look"


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view.get("buttons", ())]


def pause_and_go_on(stand: Stand) -> None:
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("r")


def test_after_a_pause_the_level_is_read_before_the_pressure_and_before_anything_is_opened(stand: Stand) -> None:
    stand.go_to("open", "p1")
    pause_and_go_on(stand)
    assert looks(stand) and (stand.view["kind"], stand.view["unit"]) == ("reading", "mL")
    stand.read("400", "mL")
    assert not looks(stand)
    (level,) = (one for one in stand.bodies("reading") if one.what == "level")
    assert (level.step, level.affects, level.also, level.instrument) == ("level-look", "", (), "")
    stand.go_to("armed", "p1")


def test_a_slip_at_the_look_is_taken_back_with_one_key_and_it_is_looked_at_again(stand: Stand) -> None:
    stand.go_to("open", "p1")
    pause_and_go_on(stand)
    held = stand.state.tank.left_ml
    stand.read("40", "mL")
    assert keys(stand)[-1] == "b" and stand.state.tank.left_ml == Decimal(40)
    stand.press("b")
    assert looks(stand) and "what was said of it was a slip" in stand.view["text"]
    assert stand.state.tank.left_ml == held
    stand.read("400", "mL")
    assert not looks(stand) and stand.state.tank.left_ml == Decimal(400)
    stand.follow()
    assert "b" not in keys(stand), "something else was said since"
    assert fold(stand.journal.of("J1")).tank == stand.state.tank


def test_nothing_is_sent_while_it_is_still_to_be_looked_at(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    state = replace(stand.state, tank=replace(stand.state.tank, doubt="the job lay"))
    request = stand.runner._hearing.bay.request(state, state.plan[0], state.command_named("pump"))  # type: ignore[union-attr]
    found = rules.refusal(request)
    assert found is not None and found.rule == "reservoir-level" and found.hint


def test_as_much_as_one_bottle_took_already_may_be_all_that_is_left_and_only_filling_goes_on(stand: Stand) -> None:
    do_pass(stand, "260")
    assert looks(stand) and keys(stand) == ["o", "e"]
    assert "240 mL may be all that is left" in stand.view["text"] and "before the lid" in stand.view["text"]
    stand.press("o")
    assert looks(stand) and keys(stand) == ["f", "e"] and not stand.state.pressurised
    stand.fill_up()
    assert not looks(stand) and stand.state.tank.left_ml == Decimal(500)
    assert stand.view["step"] == "pressurise", "it is put on again before the next pass"
    stand.go_to("armed", "p2")
    let_off = next(one for one in stand.bodies("step") if one.step == "let-off-to-fill")
    assert (let_off.act, let_off.affects) == ("done", "depressurise")


def low(stand: Stand) -> None:
    """Come to a look at which it must be filled, with the feed let off."""
    do_pass(stand, "260")
    stand.press("o")
    assert looks(stand) and keys(stand) == ["f", "e"]


def test_how_much_went_in_is_read_as_it_is_filled_up_and_says_both(stand: Stand) -> None:
    low(stand)
    before = len(stand.journal.of("J1"))
    stand.press("f")
    assert (stand.view["kind"], stand.view["what"], stand.view["unit"]) == ("reading", "volume-in", "mL")
    assert keys(stand) == ["n", "x"] and len(stand.journal.of("J1")) == before, "nothing is half recorded"
    stand.read("255", "mL")
    read = stand.bodies("reading")[-1]
    assert (read.what, read.amount.value, read.step, read.affects) == ("volume-in", "255", "level-look", "refill")
    assert stand.state.tank.left_ml == Decimal(500) and not stand.state.reservoir_empty, "it is filled up to its mark"
    assert stand.view["step"] == "pressurise"


def test_how_much_went_in_is_left_unread_with_one_key(stand: Stand) -> None:
    low(stand)
    stand.fill_up()
    filled = stand.bodies("step")[-1]
    assert (filled.step, filled.affects) == ("said-refill", "refill") and stand.state.tank.left_ml == Decimal(500)


@pytest.mark.parametrize("way", ["x", "pause", "crash"])
def test_what_was_not_filled_yet_or_not_said_to_the_end_is_asked_again(stand: Stand, way: str) -> None:
    low(stand)
    stand.press("f")
    if way == "x":
        stand.press("x")
    elif way == "pause":
        pause_and_go_on(stand)
    else:
        stand.crash()
        stand.until(lambda: stand.view)
    assert looks(stand) and stand.view.get("what") != "volume-in" and "f" in keys(stand)
    assert not [one for one in stand.bodies("step") if one.affects == "refill" and one.step != "fill"]


def test_while_more_is_left_than_any_bottle_took_nothing_is_asked(stand: Stand) -> None:
    do_pass(stand, "240")
    assert stand.view["pass_id"] == "p2" and not looks(stand)


def test_a_bottle_of_more_than_the_reservoir_held_is_asked_about_once_more(stand: Stand) -> None:
    do_pass(stand, "60")
    while stand.view.get("what") != "volume":
        stand.follow()
    assert stand.view["most"] == "440", "60 of 500 mL were taken"


def test_one_wrong_bottle_never_keeps_a_reservoir_that_was_just_filled_from_the_next_pass(stand: Stand) -> None:
    do_pass(stand, "1809")
    assert looks(stand) and "0 mL may be all that is left, and one bottle took 1809 mL" in stand.view["text"]
    stand.press("o")
    stand.fill_up()
    assert not looks(stand) and not stand.state.tank.unsure
    stand.go_to("armed", "p2")


def test_the_fold_follows_an_amount_that_was_corrected(stand: Stand) -> None:
    do_pass(stand, "1809")
    wrong = stand.journal.of("J1")[-1]
    assert wrong.kind == "reading"
    instead = {"amount": {"value": "180", "unit": "mL"}}
    body = {"target": wrong.seq, "reason": "a slip", "instead": instead}
    stand.journal.append(Draft("amendment", "J1", TECHNICIAN.actor, body=body, corrects="reading"))
    state = fold(stand.journal.of("J1"))
    assert (state.tank.most_ml, state.tank.left_ml, state.tank.unsure) == (Decimal(180), Decimal(320), "")
    assert state.cursor == stand.state.cursor


@pytest.mark.parametrize(("ml", "full"), [("30", False), ("250", False), ("260", True)])
def test_before_any_bottle_half_of_what_it_holds_is_wanted(stand: Stand, ml: str, full: bool) -> None:
    """A choice of this project, no source."""
    stand.go_to("open", "p1")
    pause_and_go_on(stand)
    stand.read(ml, "mL")
    assert looks(stand) is not full
    if not full:
        assert f"{ml} mL may be all that is left, and as long as no bottle was read" in stand.view["text"]
        stand.press("o")
        stand.fill_up()
    stand.go_to("armed", "p1")


@pytest.mark.parametrize(("ml", "asked"), [("120", True), ("130", False)])
def test_before_any_bottle_the_procedure_says_what_one_pass_may_take(ml: str, asked: bool) -> None:
    volume = 'seconds = "8 s"\nvolume = { low = "60 mL", high = "120 mL" }\n'
    stand = early(Stand(procedure=TEXT.replace('seconds = "8 s"\n', volume)))
    stand.go_to("open", "p1")
    pause_and_go_on(stand)
    stand.read(ml, "mL")
    assert looks(stand) is asked and ("a pass may take 120 mL" in stand.view["text"]) is asked
    stand.close()


@pytest.mark.parametrize("why", SPILLED)
def test_a_bottle_that_nobody_read_is_no_number_and_the_level_is_looked_at_before_the_next_pass(
    stand: Stand, why: str
) -> None:
    while stand.view.get("what") != "volume":
        stand.follow()
    (key,) = (one for one in stand.view["buttons"] if one["key"] == "n")
    assert key["asks"] and why in key["reasons"]
    stand.press("n", why)
    left = stand.bodies("step")[-1]
    assert (left.step, left.act, left.said, left.looked, left.pass_id) == ("bottle", "skipped", why, False, "p1")
    assert not [one for one in stand.bodies("reading") if one.what == "volume"]
    assert looks(stand) and "was not read" in stand.view["text"] and stand.view["kind"] == "reading"
    stand.read("400", "mL")
    stand.go_to("armed", "p2")


def test_a_level_that_nobody_has_seen_for_an_hour_is_read_before_the_next_pass(stand: Stand) -> None:
    while stand.view.get("what") != "volume":
        stand.follow()
    stand.clock.advance(SEEN_S + 1)
    stand.read("40", "mL")
    assert looks(stand) and "for an hour" in stand.view["text"]


def test_air_that_was_drawn_has_every_pass_that_was_begun_done_again_once_it_is_filled(stand: Stand) -> None:
    do_pass(stand, "260")
    stand.press("e")
    assert stand.view["kind"] == "decide" and keys(stand) == ["o", "b"]
    stand.press("o")
    assert stand.view["kind"] == "decide" and "done again: p1." in stand.view["text"]
    stand.press("r")
    assert looks(stand) and "recorded empty" in stand.view["text"]
    stand.fill_up()
    assert stand.view["step"] == "pressurise"
    stand.go_to("armed", "p1")
    assert [one.what for one in stand.bodies("reading")][-1] == "feed-pressure"
    stand.press("s")
    do_pass(stand, "60")
    assert stand.acts.count(START) == 2 and stand.view["pass_id"] == "p2"


def test_that_it_ran_empty_is_taken_back_as_a_slip_and_counts_for_none_once_a_look_finds_fluid(stand: Stand) -> None:
    do_pass(stand, "260")
    left = stand.state.tank.left_ml
    stand.press("e")
    stand.press("o")
    assert "b" in keys(stand)
    assert len(unwatched.of(open_case(stand.journal.of("J1"))).empty) == 1
    stand.press("b")
    assert not (stand.state.air or stand.state.reservoir_empty) and stand.state.tank.left_ml == left
    assert looks(stand) and "was a slip" in stand.view["text"]
    assert len(unwatched.of(open_case(stand.journal.of("J1"))).empty) == 1, "nobody has looked yet"
    stand.read("400", "mL")
    assert not looks(stand) and unwatched.of(open_case(stand.journal.of("J1"))).empty == ()
    assert [one.act for one in stand.bodies("step")].count("skipped") == 0
    assert fold(stand.journal.of("J1")).points == stand.state.points


def test_what_was_empty_before_a_slip_stays_empty_and_a_filling_in_its_place_takes_nothing_back(stand: Stand) -> None:
    do_pass(stand, "260")
    for key in ("e", "o", "b", "e", "b"):
        stand.press(key)
    assert not stand.state.reservoir_empty
    for key in ("e", "k"):
        stand.press(key, "it was looked at")
    assert stand.state.reservoir_empty
    stand.press("e")
    stand.press("b")
    assert stand.state.reservoir_empty and "recorded empty" in stand.view["text"]
    stand.fill_up()
    assert len(unwatched.of(open_case(stand.journal.of("J1"))).empty) >= 1


def test_a_run_that_is_not_done_again_needs_a_reason_and_the_job_goes_on_where_it_stood(stand: Stand) -> None:
    do_pass(stand, "260")
    stand.press("e")
    stand.press("o")
    stand.press("k", "the lead says so")
    assert looks(stand)
    stand.fill_up()
    assert stand.view["step"] == "pressurise" and stand.bodies("step")[-2].said
    stand.press("y")
    assert stand.view["pass_id"] == "p2"


def test_said_while_a_nipple_is_open_it_is_closed_first(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    stand.send(do="say", what="empty")
    stand.until(lambda: stand.view["kind"] == "close")
    assert "ran empty" in stand.view["text"]
    stand.press("y")
    assert stand.view["kind"] == "decide"


def test_let_off_at_a_look_where_it_was_read_already_the_pressure_is_put_on_and_read_again(stand: Stand) -> None:
    stand.go_to("open", "p1")
    pause_and_go_on(stand)
    assert looks(stand) and keys(stand) == ["o", "e"] and "before" not in stand.view.get("caution", "")
    stand.press("o")
    stand.fill_up()
    assert (stand.view["step"], keys(stand)) == ("pressurise", ["y"]), "a filling is no look"
    stand.press("y")
    assert (stand.view["what"], stand.view["pass_id"]) == ("feed-pressure", "p1") and "x" not in keys(stand)
    stand.read("2.0", "bar")
    assert (stand.view["kind"], stand.view["pass_id"]) == ("open", "p1")
    stand.go_to("armed", "p1")


def test_let_off_in_a_pause_it_is_filled_before_it_is_put_under_pressure_again(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("o")
    stand.press("r")
    assert looks(stand) and keys(stand) == ["f", "e"]
    stand.fill_up()
    assert stand.view["step"] == "pressurise"
    stand.press("y")
    assert stand.view["what"] == "feed-pressure"


def test_the_old_fluid_drawn_out_before_anything_is_opened_is_no_air(stand: Stand) -> None:
    stand.send(do="say", what="empty")
    stand.until(lambda: stand.state.reservoir_empty)
    assert not stand.state.air


def test_without_a_level_in_the_procedure_one_key_says_that_it_stands_well() -> None:
    stand = early(Stand())
    stand.go_to("open", "p1")
    pause_and_go_on(stand)
    assert looks(stand) and keys(stand) == ["y", "o", "e"] and "let the feed's pressure off" in stand.view["text"]
    stand.press("y")
    assert not looks(stand)
    stand.close()


def stopped(stand: Stand) -> None:
    """Stop the run of p1, close its nipple and have the pass done again."""
    stand.go_to("running", "p1")
    stand.stop()
    stand.until(lambda: stand.view["kind"] == "close")
    stand.press("y")
    assert stand.view["kind"] == "decide"
    stand.press("r")
    stand.until(lambda: stand.view["kind"] not in ("busy", "decide"))


def test_a_pass_is_done_again_only_after_a_look_for_nobody_read_what_the_first_attempt_took(stand: Stand) -> None:
    stopped(stand)
    assert looks(stand) and "was not read" in stand.view["text"]
    stand.read("400", "mL")
    assert not looks(stand) and stand.view["what"] == "feed-pressure"
    stand.go_to("armed", "p1")


def test_one_that_was_never_open_took_nothing_and_asks_for_no_look(stand: Stand) -> None:
    stand.go_to("open", "p1")
    stand.press("l", "the spanner is not on yet")
    stand.go_to("running", "p1")
    stand.until(lambda: stand.bodies("outcome"))
    stand.until(lambda: "opened while it ran" in stand.view.get("text", ""))
    stand.press("n")
    stand.press("r")
    assert not looks(stand) and stand.view["what"] == "feed-pressure"


def test_where_no_bottle_is_read_or_nothing_is_known_of_the_reservoir_none_is_asked_for() -> None:
    for text in (PROCEDURE, TEXT.replace(BOTTLE, '[[steps_after]]\nid = "road-test"')):
        made = early(Stand(procedure=text))
        stopped(made)
        assert not looks(made)
        made.close()


def test_the_papers_say_of_a_reservoir_said_to_be_empty_by_a_slip_that_it_was_taken_back(stand: Stand) -> None:
    do_pass(stand, "260")
    for key in ("e", "o", "b"):
        stand.press(key)
    (said,) = (line for line in happened(stand) if "ran empty" in line)
    assert "taken back as a slip (entry" in said and "no look after it settles that" in said
    stand.read("400", "mL")
    (said,) = (line for line in happened(stand) if "ran empty" in line)
    assert "taken back as a slip (entry" in said and "a look after it found fluid" in said


def happened(stand: Stand) -> list[str]:
    return facts(audit(stand.journal.made, list(QUESTIONS.values())))["happened"]  # type: ignore[no-any-return]

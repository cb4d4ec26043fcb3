"""With two technicians signed on, one key says whose hands do the work: entries name them, and who entered it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import LEAD, PROCEDURE, TECHNICIAN, Stand, signed_on

from witnessmark.audit.questions.who import NOBODY
from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen, keys, plain
from witnessmark.job.hands import AWAITED_EVERY_S
from witnessmark.journal.entry import Draft, Entry
from witnessmark.people.person import Person

OTHER = Person("t-heron")
SECOND = PROCEDURE.replace('affects = "pressurise"', 'affects = "pressurise"\nperson = "second"')


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=SECOND, before=signed_on(OTHER, TECHNICIAN))
    made.until(lambda: made.view.get("hands"))
    yield made
    made.close()


def switch(stand: Stand) -> None:
    before = stand.view["hands"]
    stand.send(do="hands")
    stand.until(lambda: stand.view.get("hands") != before)


def steps(stand: Stand) -> list[Entry]:
    return [one for one in stand.journal.of("J1") if one.kind in ("step", "reading")]


def test_the_hands_are_those_at_the_screen_until_they_are_switched(stand: Stand) -> None:
    assert (stand.view["hands"], stand.view["at_screen"]) == (TECHNICIAN.id, TECHNICIAN.id)
    switch(stand)
    assert (stand.view["hands"], stand.view["at_screen"]) == (OTHER.id, TECHNICIAN.id)
    stand.press("y", "DOT 4")
    assert (steps(stand)[-1].done_by, steps(stand)[-1].entered_by) == (OTHER.actor, TECHNICIAN.actor)
    switch(stand)
    assert stand.view["hands"] == TECHNICIAN.id


def test_the_first_view_knows_who_is_here_so_that_it_does_not_change_under_the_hand_that_answers_it() -> None:
    stand = Stand(before=signed_on(OTHER, TECHNICIAN))
    stand.until(lambda: [one for one in stand.told if "view" in one])
    stand.close()
    assert next(one["view"]["hands"] for one in stand.told if "view" in one) == TECHNICIAN.id


def test_what_a_second_person_does_is_by_the_one_whose_hands_they_are_not(stand: Stand) -> None:
    stand.press("y", "DOT 4")
    assert (stand.view["person"], stand.view["second"]) == ("second", OTHER.id)
    switch(stand)
    assert stand.view["second"] == TECHNICIAN.id
    stand.press("y")
    assert (steps(stand)[-1].body["step"], steps(stand)[-1].done_by) == ("pressurise", TECHNICIAN.actor)
    stand.go_to("reading", "p1")
    stand.read("2.0", "bar")
    stand.press("y")
    assert [one.done_by for one in steps(stand)[-2:]] == [OTHER.actor, OTHER.actor], "a reading, a nipple opened"


def said(stand: Stand) -> list[str]:
    return [one["said"] for one in stand.told if "said" in one]


def test_a_job_that_is_gone_on_with_keeps_the_hands_that_touched_last_and_says_so_first(stand: Stand) -> None:
    switch(stand)
    stand.press("y", "DOT 4")
    stand.press("y")
    assert steps(stand)[-1].done_by == TECHNICIAN.actor, "a second person's step"
    stand.crash()
    stand.until(lambda: stand.view.get("hands"))
    assert stand.view["hands"] == OTHER.id
    first = [next(iter(one)) for one in stand.told if "said" in one or "view" in one]
    assert first[0] == "said" and said(stand) == [f"The hands are still {OTHER.id}'s, as at the last touch."]
    stand.go_to("open", "p1")
    assert steps(stand)[-1].done_by == OTHER.actor


def test_a_switch_is_a_fact_of_its_own_and_holds_after_a_quit_though_nobody_touched_since(stand: Stand) -> None:
    stand.press("y", "DOT 4")
    switch(stand)
    taken = steps(stand)[-1]
    assert (taken.body["step"], taken.done_by, taken.entered_by) == ("hands-taken", OTHER.actor, TECHNICIAN.actor)
    stand.crash()
    stand.until(lambda: stand.view.get("hands"))
    assert stand.view["hands"] == OTHER.id
    assert said(stand) == [f"The hands are still {OTHER.id}'s, as at the last touch."]


def test_a_switch_does_nothing_in_the_walk_and_proves_nothing_of_who_did_it(stand: Stand) -> None:
    before = (stand.state.cursor, stand.state.points, stand.view["kind"])
    switch(stand)
    assert (stand.state.cursor, stand.state.points, stand.view["kind"]) == before
    assert "hands-taken" in NOBODY


def test_a_second_person_who_signs_on_is_named_without_a_key() -> None:
    stand = Stand(procedure=SECOND)
    stand.press("y", "DOT 4")
    assert (stand.view["person"], stand.view["second"]) == ("second", "nobody else is signed on")
    stand.wait(10)
    signed_on(OTHER)(stand.journal)
    stand.until(lambda: stand.view["second"] == OTHER.id, seconds=AWAITED_EVERY_S + 1)
    stand.close()


def test_hands_that_are_gone_when_the_job_is_gone_on_with_are_said_to_have_changed(stand: Stand) -> None:
    switch(stand)
    stand.press("y", "DOT 4")
    stand.journal.append(Draft("sign-off", None, OTHER.actor, body={}))
    stand.crash()
    stand.until(lambda: stand.view)
    assert said(stand) == [f"The hands are {TECHNICIAN.id}'s now: at the last touch they were {OTHER.id}'s."]


def test_a_job_that_is_begun_says_nothing_of_hands_before(stand: Stand) -> None:
    assert not said(stand)


def test_what_is_decided_at_the_screen_is_by_the_one_at_the_screen(stand: Stand) -> None:
    switch(stand)
    stand.go_to("armed", "p1")
    armed = next(one for one in stand.journal.of("J1") if one.kind == "armed")
    assert armed.done_by == TECHNICIAN.actor


def test_who_signs_off_is_nobodys_hands_any_more(stand: Stand) -> None:
    switch(stand)
    stand.journal.append(Draft("sign-off", None, OTHER.actor, body={}))
    stand.until(lambda: not stand.view.get("hands"))
    assert f"{OTHER.id} has signed off: the hands are {TECHNICIAN.id}'s now." in [one.get("said") for one in stand.told]
    stand.press("y", "DOT 4")
    assert steps(stand)[-1].done_by == TECHNICIAN.actor


@pytest.mark.parametrize("people", [(), (TECHNICIAN,)], ids=["nobody", "only the one at the screen"])
def test_with_nobody_else_signed_on_nothing_is_shown_and_the_key_says_why(people: tuple[Person, ...]) -> None:
    stand = Stand(before=signed_on(*people))
    stand.turn(20)
    assert "hands" not in stand.view
    stand.send(do="hands")
    stand.until(lambda: stand.errors)
    stand.close()
    assert stand.errors[-1]["what"] == "nobody else is signed on" and "person sign-on" in stand.errors[-1]["hint"]


def test_who_signs_on_while_the_job_is_open_is_seen() -> None:
    stand = Stand()
    stand.turn(20)
    assert "hands" not in stand.view
    stand.journal.append(Draft("sign-on", None, LEAD.actor, body={"role": "lead", "proven": "pin"}))
    stand.until(lambda: stand.view.get("hands"))
    stand.close()


def test_the_screen_says_it_large_with_its_key_and_one_key_asks_for_it(stand: Stand) -> None:
    switch(stand)
    dialog = Dialog()
    dialog.show(stand.view)
    rows = Screen("J1").draw(dialog, 80, 24).plain.splitlines()
    assert rows[1] == "HANDS:  T - H E R O N   entered by t-otter"
    assert "[h] other hands" in keys(dialog) and dialog.press("h") == {"do": "hands"}
    stand.press("y", "DOT 4")
    assert "BY THE SECOND PERSON: t-otter" in plain(stand.view)


def test_armed_that_key_is_as_any_other(stand: Stand) -> None:
    stand.go_to("armed", "p1")
    dialog = Dialog()
    dialog.show(stand.view)
    assert not [one for one in keys(dialog) if one.startswith("[h]")] and dialog.press("h") == "stop"


def test_whose_hands_they_are_stands_where_a_run_is_decided_on(stand: Stand) -> None:
    stand.go_to("armed")
    stand.press("s")
    stand.until(lambda: stand.view["kind"] == "running")
    stand.stop()
    stand.go_to("decide")
    assert stand.view["text"].startswith("This run did not complete.")
    assert stand.view["hands"] == TECHNICIAN.id

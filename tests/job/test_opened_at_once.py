"""A nipple that is said to be open at the questions before arming is on record before anything else is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand
from tests.procedure.kept import kept

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen
from witnessmark.host.closing import open_items
from witnessmark.job.half_answered import HalfAnswered
from witnessmark.job.view import Asked, View
from witnessmark.job.walk.fold import fold
from witnessmark.job.walk.standing import standing

AT_ARMING = PROCEDURE.replace("invented = true\n", "invented = true\nopened_at_arming = true\n", 1).replace(
    '[[questions]]\nid = "nobody-near"',
    '[[questions]]\nid = "mounted"\ntext = "Are the calipers mounted?"\nholds = "10 min"\n'
    '[[questions]]\nid = "supported"\ntext = "Is it on supports?"\nholds = "10 min"\n'
    '[[questions]]\nid = "nobody-near"',
)
ALL = {"mounted": True, "supported": True, "nobody-near": True, "hood": True}


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=AT_ARMING)
    made.go_to("arm", "p1")
    yield made
    made.close()


def touch(stand: Stand, *keys: str) -> None:
    """Press keys at the terminal's own dialog; what it sends goes to the runner."""
    dialog = Dialog()
    for key in keys:
        dialog.show(stand.view)
        done = dialog.press(key)
        if isinstance(done, dict):
            stand.do(do=done["do"], answers=done["answers"])
            stand.turn()


def opened(stand: Stand) -> Stand:
    """The nipple is said to be open, and nothing that comes after it is answered."""
    dialog = Dialog()
    dialog.show(stand.view)
    assert dialog.press("y") is None and dialog.press("y") is None
    assert dialog.question is not None and dialog.question["id"] == "opened"
    command = dialog.press("y")
    assert isinstance(command, dict) and command["answers"] == {"mounted": True, "supported": True, "opened": True}
    stand.do(do="answers", answers=command["answers"])
    return stand


def acts(stand: Stand) -> list[str]:
    return [one.act for one in stand.bodies("step") if one.act in ("opened", "closed")]


def refusals(stand: Stand) -> list[str]:
    return [one.why for one in stand.bodies("refused")]


def test_it_is_an_entry_before_the_next_question_is_answered(stand: Stand) -> None:
    opened(stand)
    assert acts(stand) == ["opened"] and stand.state.open_nipples == ("rr",)
    assert stand.view["kind"] == "arm" and [one["id"] for one in stand.view["questions"]] == ["nobody-near", "hood"]
    assert stand.view["text"].startswith("The nipple rear right is OPEN under PRESSURE.")
    assert stand.view["opened"] == "The nipple rear right is OPEN under PRESSURE." and not stand.acts


def test_what_is_left_arms_with_all_answers_and_it_was_opened_once(stand: Stand) -> None:
    stand = opened(stand)
    stand.answer()
    stand.go_to("armed", "p1")
    (armed,) = stand.bodies("armed")
    assert armed.answers == ALL and acts(stand) == ["opened"]
    assert stand.view["text"].startswith("The nipple rear right is OPEN under PRESSURE. Armed.")


def pause(stand: Stand) -> None:
    stand.send(do="pause", why="called away")
    stand.until(lambda: stand.view["kind"] == "paused")


def leave(stand: Stand) -> None:
    stand.face.close()
    stand.until(stand.runner.over)


def interrupt(stand: Stand) -> None:
    stand.stop()
    leave(stand)


def die(stand: Stand) -> None:
    """Nothing more is done by this runner."""


@pytest.mark.parametrize("go", [pause, leave, interrupt, die], ids=["p", "q", "Ctrl-C", "killed"])
def test_whoever_takes_the_job_up_finds_it_open(stand: Stand, go: Callable[[Stand], None]) -> None:
    go(opened(stand))
    entry = next(one for one in stand.journal.of("J1") if one.body.get("act") == "opened")
    assert entry.body["nipple"] == "rr" and entry.occurred.to_ns <= entry.recorded.wall_ns
    state = fold(stand.journal.of("J1"))
    assert state.open_nipples == ("rr",) and state.was_open == {("p1", "rr")}
    assert standing(state)[0].startswith("Nipple rear right ") and "OPEN" in standing(state)[0]
    assert open_items(state)[0] == "nipple rear right stands open"


def test_it_is_recorded_when_the_screen_is_gone_in_the_same_moment_and_nothing_is_armed(stand: Stand) -> None:
    stand.send(view=stand.view["id"], do="answers", answers=ALL | {"opened": True})
    stand.face.close()
    stand.until(stand.runner.over)
    assert acts(stand) == ["opened"] and not stand.bodies("armed") and not stand.acts


def test_the_pause_has_it_closed_first(stand: Stand) -> None:
    pause(opened(stand))
    assert "Paused with a nipple OPEN. Close the nipple rear right now: the pressure is on" in stand.view["text"]
    assert stand.bodies("state")[-1].open_nipples == ("rr",)


def test_after_a_crash_all_is_asked_again_but_the_nipple_that_stands_open(stand: Stand) -> None:
    opened(stand).crash()
    stand.go_to("arm", "p1")
    assert [one["id"] for one in stand.view["questions"]] == ["mounted", "supported", "nobody-near", "hood"]
    assert stand.view["text"].startswith("The nipple rear right is OPEN under PRESSURE.")


@pytest.mark.parametrize(("keys", "words"), [("n", "Are the calipers mounted? no"), ("yn", "Is it on supports? no")])
def test_a_no_before_it_refuses_in_its_own_words_keeps_it_shut_and_is_on_record(
    stand: Stand, keys: str, words: str
) -> None:
    touch(stand, *keys)
    error = stand.errors[-1]
    assert (error["what"], error["rule"], error["reached"]) == (words, "question", "nothing")
    assert error["hint"] == "keep the nipple shut; put it right, then answer again"
    assert refusals(stand) == [words] and acts(stand) == [] and not stand.acts
    assert stand.view["kind"] == "arm" and stand.view["questions"][0]["id"] == "mounted"


def test_a_no_after_it_says_that_it_is_open_and_one_key_says_that_it_is_shut_again(stand: Stand) -> None:
    stand = opened(stand)
    touch(stand, "n")
    error = stand.errors[-1]
    assert error["what"] == "Is nobody near? no" and refusals(stand) == ["Is nobody near? no"]
    assert error["hint"].startswith("the nipple rear right is OPEN under PRESSURE: close it first (key k)")
    stand.until(lambda: stand.view["kind"] == "arm")
    stand.press("k")
    assert acts(stand) == ["opened", "closed"] and stand.state.open_nipples == ()
    stand.go_to("arm", "p1")
    assert "opened" in [one["id"] for one in stand.view["questions"]]
    assert "k" not in [one["key"] for one in stand.view["buttons"]]


def test_a_no_in_the_same_touch_as_the_opening_records_both(stand: Stand) -> None:
    stand.answer(**{"nobody-near": False})
    assert stand.errors[-1]["hint"].startswith("the nipple rear right is OPEN under PRESSURE: close it first")
    stand.until(lambda: stand.state.open_nipples == ("rr",))
    assert refusals(stand) == ["Is nobody near? no"] and not stand.bodies("armed")


def test_after_arming_expired_what_may_have_changed_is_asked_anew(stand: Stand) -> None:
    opened(stand).answer()
    stand.go_to("armed", "p1")
    stand.until(lambda: stand.view["kind"] == "arm")
    assert stand.view["text"].startswith("The nipple rear right is OPEN under PRESSURE.")
    assert [one["id"] for one in stand.view["questions"]] == ["nobody-near", "hood"]
    assert [one["key"] for one in stand.view["buttons"]] == ["k"]
    stand.do(do="answers", answers={"nobody-near": True})
    assert stand.errors[-1]["what"] == "Is the hood shut? no answer" and len(stand.bodies("armed")) == 1
    stand.until(lambda: stand.view["kind"] == "arm")
    touch(stand, "a")
    stand.go_to("armed", "p1")
    assert acts(stand) == ["opened"]


def test_every_other_screen_has_a_line_for_it(stand: Stand) -> None:
    dialog, screen = Dialog(), Screen("J1")
    dialog.show({"kind": "reading", "title": "t", "text": "Read it", "opened": "The nipple rear right is OPEN."})
    assert "The nipple rear right is OPEN." in screen.draw(dialog, 60, 12).plain


def test_a_yes_is_kept_no_longer_than_it_holds_and_for_its_pass_alone(stand: Stand) -> None:
    half = HalfAnswered(kept(AT_ARMING), stand.clock)
    view = View(kind="arm", pass_id="p1", questions=(Asked("mounted", "?"), Asked("nobody-near", "?")))
    answers = {"mounted": True, "nobody-near": True, "opened": True}
    half.keep("p1", answers)
    assert [one.id for one in half.shown(view).questions] == ["nobody-near"], "only what holds for a time is kept"
    assert half.whole({"hood": True}) == {"mounted": True, "hood": True}
    assert half.shown(view) == view, "it is used up"
    half.keep("p1", answers)
    stand.clock.advance(601)
    assert half.shown(view) == view
    half.keep("p1", answers)
    assert half.shown(View(kind="paused")) == View(kind="paused") and half.shown(view) == view

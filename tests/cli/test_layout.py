"""What fits: the keys always stand, a caution is a page away or a row says that it is cut off."""

from __future__ import annotations

from typing import Any

import pytest
from tests.cli.test_dialog import dialog

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.cli.bay.screen import Screen, plain
from witnessmark.clock import ManualClock

LONG = "Turn the ignition off and take the negative lead off. Keep hands clear until the pump is heard to stand still. "
ARMED: dict[str, Any] = {
    "title": "Pass 1 of 8: rear left",
    "text": "Armed. Start when the hand is ready.",
    "caution": "Goggles and gloves, and water at hand. No hands inside a wheel but at the spanner. " * 2,
    "fallback": LONG * 2,
    "buttons": [{"key": "s", "label": "start"}, {"key": "x", "label": "leave, nothing is sent"}],
    "shown": {f"condition {number}": "as it has to be" for number in range(12)},
    "at": 12,
    "of": 56,
}
SIZES = [(80, 24), (40, 12)]


def rows(screen: Screen, one: Dialog, size: tuple[int, int]) -> list[str]:
    return screen.draw(one, *size).plain.split("\n")


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", ["armed", "step", "running"])
def test_a_picture_is_as_large_as_the_screen_with_every_key_on_it(size: tuple[int, int], kind: str) -> None:
    one = dialog(kind, **ARMED)
    shown = rows(Screen("261125-1", "PRACTICE at 8x"), one, size)
    assert len(shown) == size[1] and all(len(row) <= size[0] for row in shown)
    text = "\n".join(shown)
    assert "[s] start" in text and "[x] leave" in text
    assert ("ANY OTHER KEY: STOP" if kind == "running" else "[q] leave") in text


@pytest.mark.parametrize("size", SIZES)
def test_what_does_not_fit_is_on_pages_that_are_turned_without_disarming(size: tuple[int, int]) -> None:
    one, screen = dialog("armed", **ARMED), Screen("1")
    seen = ""
    for _ in range(12):
        seen += "\n".join(rows(screen, one, size)[:-1])
        if one.pages > 1:
            assert "[m] more" in seen and one.press("m") is None
    for wanted in ("CAUTION: Goggles", "IF IT DOES NOT STOP: Turn", "condition 11: as it has to be"):
        assert wanted in seen


def test_while_it_runs_no_page_is_turned_and_a_row_says_what_is_cut_off() -> None:
    one = dialog("running", **ARMED)
    assert "cut off" in "\n".join(rows(Screen("1"), one, (40, 12)))
    assert one.press("m") == "stop"


def test_half_the_time_is_half_of_the_bar_on_a_narrow_screen_too() -> None:
    one, screen = dialog("running", text="Running."), Screen("1", "PRACTICE at 8x: no real vehicle")
    screen.hear({"run": {"state": "running", "elapsed_s": "5.0", "of_s": "10"}})
    assert "#" * 20 + "." * 20 in rows(screen, one, (40, 20))
    assert "PRACTICE at 8x: no real vehicle" in rows(screen, one, (40, 20))[0], "the banner is never cut"


def test_the_cue_is_large_and_stays_until_the_run_has_begun() -> None:
    one, screen = dialog("busy", text="On OPEN, not before: Open the nipple rear left 0.75 turn."), Screen("1")
    one.run_state = "counting"
    screen.hear({"cue": 2})
    screen.hear({"run": {"state": "counting", "of_s": "10"}})
    assert rows(screen, one, (80, 24))[1:6] == ["#####", "    #", "#####", "#", "#####"]
    screen.hear({"cue": 0})
    screen.hear({"run": {"state": "running", "elapsed_s": "0.4", "of_s": "10"}})
    text = "\n".join(rows(screen, one, (80, 24)))
    assert "#####  #####  #####  #   #" in text and "rear left 0.75 turn" in text
    assert ">>> OPEN <<<" in "\n".join(rows(screen, one, (40, 12)))
    screen.hear({"run": {"state": "running", "elapsed_s": "3.2", "of_s": "10"}})
    assert screen.cue == ""


def test_what_was_said_has_its_time_and_is_gone_with_the_next_act() -> None:
    clock = ManualClock()
    one, screen = dialog("step", text="Do it.", buttons=[]), Screen("1", clock=clock)
    screen.hear({"error": {"what": "the pump rests", "hint": "", "rule": "cool-down"}})
    text = "\n".join(rows(screen, one, (80, 24)))
    assert "REFUSED: the pump rests" in text and "do:" not in text
    assert screen.wrong[0][2] == screen.wrong[0][5] == ":"
    screen.clear()
    assert "REFUSED" not in "\n".join(rows(screen, one, (80, 24)))


def test_a_refusal_stands_on_the_first_page_above_all_that_is_asked() -> None:
    questions = [
        {"id": str(one), "text": f"Is condition {one} as it has to be before anything runs?"} for one in range(9)
    ]
    one, screen = dialog("arm", text="First use. " * 60, questions=questions, caution="Goggles. " * 60), Screen("1")
    screen.hear({"said": "armed"})
    screen.hear({"error": {"what": "the approval was withdrawn", "hint": "ask the shop lead", "rule": "not-approved"}})
    shown = rows(screen, one, (80, 24))
    assert one.pages > 1 and "REFUSED: the approval was withdrawn" in shown[1] and "do: ask the shop lead" in shown[2]
    screen.clear()
    assert "REFUSED" not in "\n".join(rows(screen, one, (80, 24)))


def many_questions(words: int) -> Dialog:
    asked = [{"id": str(number), "text": f"Is condition {number} as it has to be?"} for number in range(9)]
    return dialog("arm", text="First use. " * words, questions=asked, caution="Goggles. " * 60)


@pytest.mark.parametrize("size", SIZES)
def test_the_question_that_is_asked_stands_on_every_page(size: tuple[int, int]) -> None:
    one, screen = many_questions(60), Screen("1")
    for number in range(9):
        for _ in range(3):
            shown = "\n".join(rows(screen, one, size))
            assert f"?    Is condition {number} as it has to be?" in shown, shown
            assert one.pages > 1 and one.press("m") is None
        if number < 8:
            assert one.press("y") is None


def test_one_yes_answers_only_what_stands_on_the_page() -> None:
    one, screen = many_questions(100), Screen("1")
    rows(screen, one, (80, 24))
    assert one.pages > 1 and one.press("a") is None and one.answers == {} and "not all of them" in one.complaint
    one = many_questions(1)
    rows(screen, one, (80, 24))
    assert one.press("a") == {"do": "answers", "view": one.view["id"], "answers": {str(at): True for at in range(9)}}


def test_limits_and_open_nipples_are_said_in_words() -> None:
    one = dialog("reading", unit="d", high="30 d")
    assert "limits: at most 30 d" in "\n".join(rows(Screen("1"), one, (80, 24)))
    one = dialog("paused", text="Paused.", stands=["Nipple rear left is OPEN: close it."])
    assert "Nipple rear left is OPEN: close it." in "\n".join(rows(Screen("1"), one, (80, 24)))


def test_the_feeds_pressure_is_on_every_picture_while_it_is_on_once() -> None:
    on = "The feed's pressure is on."
    for kind, text in (("step", "Lift it."), ("reading", "Read the level."), ("arm", "Arm."), ("hear", "Run it.")):
        assert "\n".join(rows(Screen("1"), dialog(kind, text=text, opened=on), (80, 24))).count(on) == 1
    own = dialog("step", text="The feed's pressure is ON. Let it off before the lid comes off.", opened=on)
    assert on not in "\n".join(rows(Screen("1"), own, (80, 24)))
    assert plain(dialog("step", text="Lift it.", opened=on).view).count(on) == 1

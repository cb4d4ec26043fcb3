"""Words that are typed beside a count stay whole, and are taken with Enter."""

from __future__ import annotations

from witnessmark.cli.typed_line import CLEAR, TypedLine


def test_words_are_taken_with_enter_and_empty_lines_are_not() -> None:
    line = TypedLine()
    assert line.press("pump re") == []
    assert line.press("ar starts\n\n  \r") == ["pump rear starts"]
    assert line.typed == ""


def test_erasing_takes_the_last_letter_back_and_keys_without_a_letter_do_nothing() -> None:
    line = TypedLine()
    line.press("pumq\x7fp\x1b")
    assert line.typed == "pump"


def test_the_count_is_drawn_anew_without_moving_what_is_typed() -> None:
    line = TypedLine()
    line.press("pump")
    assert line.draw("9 frames, 1 s", 80) == f"{CLEAR}9 frames, 1 s | pump_"
    assert line.draw("10 frames, 1 s", 80) == f"{CLEAR}10 frames, 1 s | pump_"


def test_of_long_words_the_end_shows_and_the_line_stays_one() -> None:
    line = TypedLine()
    line.press("x" * 100 + "end")
    drawn = line.draw("9 frames, 1 s", 40).removeprefix(CLEAR)
    assert drawn.endswith("end_") and len(drawn) < 40

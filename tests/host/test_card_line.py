"""A line of a card, taken apart: value, boxes in any order, and the instrument only where the line vouches for it."""

from __future__ import annotations

from datetime import date

import pytest

from witnessmark.errors import InputError
from witnessmark.host.card.card_line import Day, read_line
from witnessmark.job.walk.places import Places

DAY = Day(date(2026, 3, 2), 1 << 62)
TORQUE = Places(("closed at",), "N.m", ("clear", "not clear", "capped"), tool="torque wrench")


@pytest.mark.parametrize(
    ("text", "value", "boxes", "words"),
    [
        ("8.2 not clear, capped: foam", "8.2", {"not clear", "capped"}, "foam"),
        ("8.2 capped, not clear: foam", "8.2", {"not clear", "capped"}, "foam"),
        ("8.2 N.m not clear capped", "8.2 N.m", {"not clear", "capped"}, ""),
        ("8.2 not clear foam capped", "8.2", {"not clear", "capped"}, "foam"),
        ("8.2, not clear: clear at first, capped", "8.2", {"not clear", "capped"}, "clear at first"),
        ("8,2 Capped; clear", "8,2", {"clear", "capped"}, ""),
        ("8.2 clear capped", "8.2", {"clear", "capped"}, ""),
        ("?, capped, not clear: fine, white foam", "", {"not clear", "capped"}, "fine, white foam"),
    ],
)
def test_ticks_stand_in_any_order_with_commas_or_without(text: str, value: str, boxes: set[str], words: str) -> None:
    line = read_line(f"10:42 {text}", TORQUE, DAY, "torque")
    assert (line.value, {*line.boxes}, line.words, line.tool) == (value, boxes, words, "")


@pytest.mark.parametrize(
    ("text", "tool"),
    [
        ("8.2 N.m, clear, capped, with", "torque wrench"),
        ("8.2 with", "torque wrench"),
        ("8.2 clear with capped", "torque wrench"),
        ("8.2, with the small wrench, clear", "the small wrench"),
        ("8.2 with wrench 7 clear capped", "wrench 7"),
        ("8.2 clear capped with ?", ""),
        ("8.2, not clear: foam with bubbles, capped", ""),
        ("8.2 N.m", ""),
    ],
)
def test_an_instrument_is_named_only_where_the_line_says_it(text: str, tool: str) -> None:
    line = read_line(f"10:42 {text}", TORQUE, DAY, "torque")
    assert (line.tool, line.value.split()[0]) == (tool, "8.2")


@pytest.mark.parametrize("text", ["8.2 N.m foam", "8.2, clear: foam", "8.2 clear, wet"])
def test_what_is_no_box_has_no_place_behind_a_value(text: str) -> None:
    with pytest.raises(InputError, match="has no place on this line") as raised:
        read_line(f"10:42 {text}", TORQUE, DAY, "torque")
    assert "clear, not clear, capped, with" in raised.value.hint


def test_where_the_card_names_no_instrument_a_line_has_no_place_for_one() -> None:
    with pytest.raises(InputError, match="'with gauge' has no place"):
        read_line("10:42 2.0 bar, with gauge", Places(("at",), "bar"), DAY, "feed")

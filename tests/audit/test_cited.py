"""Entries are cited once each, in order, as ranges; what a line has no room for is counted."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from witnessmark.audit.cited import first, ranges, spell

NUMBERS = st.lists(st.integers(0, 60), max_size=40)


def test_numbers_without_a_gap_are_one_range_and_a_pair_stays_two_numbers() -> None:
    assert ranges([1, 2, 3, 5, 8, 9]) == [(1, 3), (5, 5), (8, 8), (9, 9)]
    assert ranges([]) == []


def test_an_entry_is_cited_once_however_often_and_in_whatever_order_it_is_named() -> None:
    assert spell([316, 316]) == "entry 316"
    assert spell([320, 317, 316, 319, 318, 318]) == "entries 316-320"
    assert spell([]) == ""


def test_what_a_line_has_no_room_for_is_counted_by_entries_and_one_range_more_is_shown() -> None:
    odd = range(1, 19, 2)
    assert spell(odd) == "entries 1 3 5 7 9 11 13 15 17"
    assert spell([*odd, 30, 31, 32]) == "entries 1 3 5 7 9 11 13 15 and 4 more"


@given(NUMBERS, st.integers(1, 12))
def test_no_number_is_lost_and_none_is_said_twice(numbers: list[int], most: int) -> None:
    said = [number for low, high in ranges(numbers) for number in range(low, high + 1)]
    assert said == sorted(set(numbers))
    shown, left = first(numbers, most)
    assert sum(high - low + 1 for low, high in shown) + left == len(set(numbers))
    assert len(shown) <= most + 1

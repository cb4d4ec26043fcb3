"""An answer on ranges is sure only when it holds wherever the moments were."""

from __future__ import annotations

import pytest

from witnessmark.range import FOREVER, Range, Span, any_of, covered, every, exact, overlap


def span(a: int, b: int, c: int, d: int) -> Span:
    return Span(Range(a, b), Range(c, d))


@pytest.mark.parametrize(
    ("low", "high", "bound", "least", "most"),
    [(3, 5, 3, "yes", "maybe"), (3, 5, 4, "maybe", "maybe"), (3, 5, 6, "no", "yes"), (3, 3, 3, "yes", "yes")],
)
def test_a_range_is_compared_with_a_bound(low: int, high: int, bound: int, least: str, most: str) -> None:
    assert (Range(low, high).at_least(bound), Range(low, high).at_most(bound)) == (least, most)


def test_a_range_that_runs_back_is_refused() -> None:
    with pytest.raises(ValueError, match="from 2 to 1"):
        Range(2, 1)


def test_moments_are_before_one_another_for_sure_or_maybe() -> None:
    assert Range(1, 2).before(Range(2, 3)) == "yes"
    assert Range(1, 3).before(Range(2, 4)) == "maybe"
    assert Range(3, 4).before(Range(1, 2)) == "no"


def test_how_much_later_a_moment_is_has_the_ranges_of_both() -> None:
    assert Range(10, 12).minus(Range(3, 4)) == Range(6, 9)


def test_a_length_is_never_negative() -> None:
    assert span(0, 4, 2, 6).length() == Range(0, 6)


def test_a_span_whose_ranges_cross_covers_nothing_for_sure() -> None:
    assert span(0, 4, 2, 6).sure is None
    assert span(0, 1, 2, 6).sure == (1, 2)


@pytest.mark.parametrize(
    ("inner", "sure"), [(span(3, 4, 5, 6), "yes"), (span(1, 4, 5, 6), "maybe"), (span(0, 0, 5, 6), "no")]
)
def test_a_span_lies_inside_another(inner: Span, sure: str) -> None:
    assert inner.inside(span(1, 2, 7, 8)) == sure


def test_a_moment_lies_in_a_span() -> None:
    assert span(1, 2, 7, 8).contains(Range(2, 7)) == "yes"
    assert span(1, 2, 7, 8).contains(exact(8)) == "maybe"
    assert span(1, 2, 7, 8).contains(exact(9)) == "no"


def test_overlap_has_a_least_and_a_greatest() -> None:
    assert overlap(span(0, 2, 8, 10), span(5, 5, 20, 20)) == Range(3, 5)
    assert overlap(span(0, 2, 4, 4), span(5, 5, 20, 20)) == Range(0, 0)


def test_a_run_is_covered_by_two_openings_together() -> None:
    assert covered(span(0, 0, 10, 10), [span(0, 0, 4, 4), span(6, 6, 10, 10)]) == (0.8, 0.8)


def test_openings_that_overlap_are_counted_once() -> None:
    assert covered(span(0, 0, 10, 10), [span(0, 0, 6, 6), span(4, 4, 8, 8)]) == (0.8, 0.8)


def test_a_run_without_a_known_end_has_no_sure_share() -> None:
    least, most = covered(span(0, 0, 5, FOREVER), [span(0, 0, 5, 5)])
    assert least < 1e-9
    assert most == 1.0


def test_a_run_that_may_have_no_length_has_no_sure_share() -> None:
    assert covered(span(0, 4, 2, 6), [span(0, 0, 9, 9)]) == (0.0, 1.0)
    assert covered(span(0, 4, 2, 6), []) == (0.0, 0.0)


def test_answers_combine() -> None:
    assert every("yes", "maybe", "no") == "no"
    assert every("yes", "maybe") == "maybe"
    assert every() == "yes"
    assert any_of("no", "maybe", "yes") == "yes"
    assert any_of("no", "maybe") == "maybe"
    assert any_of() == "no"


def test_a_size_is_how_far_from_nothing_either_way() -> None:
    assert [Range(*ends).size() for ends in ((2, 5), (-5, -2), (-2, 5))] == [Range(2, 5), Range(2, 5), Range(0, 5)]

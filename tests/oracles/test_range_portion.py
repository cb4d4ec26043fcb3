"""The range arithmetic against `portion`, a general-purpose interval library.

For any choice of moments within their ranges, what `portion` computes lies within our bounds; and some choice of
corners reaches each bound of an overlap.
"""

from __future__ import annotations

from itertools import product

import portion
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.range import Range, Span, covered, overlap

MOMENTS = st.integers(0, 60)


@st.composite
def spans(draw: st.DrawFn) -> Span:
    """A span whose start and end lie in ranges that do not cross."""
    a, b, c, d = sorted(draw(st.tuples(MOMENTS, MOMENTS, MOMENTS, MOMENTS)))
    return Span(Range(a, b), Range(c, d))


@st.composite
def chosen(draw: st.DrawFn, span: Span) -> tuple[int, int]:
    start = draw(st.integers(span.start.low, span.start.high))
    return start, draw(st.integers(max(start, span.end.low), span.end.high))


def together(one: tuple[int, int], others: list[tuple[int, int]]) -> int:
    """Return how long `one` and the union of the others last together."""
    union = portion.empty()
    for low, high in others:
        union |= portion.closedopen(low, high)
    both = union & portion.closedopen(*one)
    return sum(piece.upper - piece.lower for piece in both if not piece.empty)


@given(st.data(), spans(), spans())
def test_a_chosen_overlap_lies_within_the_bounds(data: st.DataObject, one: Span, other: Span) -> None:
    length = together(data.draw(chosen(one)), [data.draw(chosen(other))])
    assert overlap(one, other).low <= length <= overlap(one, other).high


@given(spans(), spans())
def test_the_bounds_of_an_overlap_are_reached(one: Span, other: Span) -> None:
    corners = list(product((one.start.low, one.start.high), (one.end.low, one.end.high)))
    others = list(product((other.start.low, other.start.high), (other.end.low, other.end.high)))
    lengths = [together(a, [b]) for a in corners for b in others]
    assert (min(lengths), max(lengths)) == (overlap(one, other).low, overlap(one, other).high)


@given(st.data(), spans(), st.lists(spans(), max_size=3))
def test_a_chosen_share_lies_within_the_bounds(data: st.DataObject, run: Span, others: list[Span]) -> None:
    start, end = data.draw(chosen(run))
    if end == start:
        return
    share = together((start, end), [data.draw(chosen(other)) for other in others]) / (end - start)
    least, most = covered(run, others)
    assert least - 1e-9 <= share <= most + 1e-9


@given(st.integers(0, 20), st.integers(1, 20), spans())
def test_the_bounds_of_a_share_are_reached_for_a_run_timed_by_the_machine(start: int, length: int, other: Span) -> None:
    run = Span(Range(start, start), Range(start + length, start + length))
    others = list(product((other.start.low, other.start.high), (other.end.low, other.end.high)))
    shares = [together((start, start + length), [pair]) / length for pair in others]
    assert covered(run, [other]) == (min(shares), max(shares))


@given(st.data(), spans(), spans())
def test_what_is_sure_holds_for_every_choice(data: st.DataObject, one: Span, other: Span) -> None:
    a, b = portion.closed(*data.draw(chosen(one))), portion.closed(*data.draw(chosen(other)))
    assert one.meets(other) in ("maybe", "yes" if a.overlaps(b) else "no")
    assert one.inside(other) in ("maybe", "yes" if a in b else "no")

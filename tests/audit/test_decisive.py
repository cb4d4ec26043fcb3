"""A finding names the corrections without which its answer would be otherwise, and no others."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from tests.audit.jobs import Job
from tests.audit.test_amended import amend, amount, found

from witnessmark.audit.decisive import MOST_TRIED, decisive
from witnessmark.audit.verdict import Detail, Finding


def pressed(*bars: str) -> Job:
    """Return a visit under pressure that was read several times, entries 2, 3 and so on."""
    job = Job(scope="nipples fl").pressurise(0)
    for at, bar in enumerate(bars):
        job.read("feed-pressure", f"{bar} bar", 80 + at)
    return job.open("fl", "p4", 100).close("fl", 130, "p4").depressurise(150)


@pytest.mark.parametrize(
    ("first", "instead", "answer", "named"),
    [
        (("2.0", "2.0"), ("1.9", "1.2"), "not met", (3,)),
        (("1.2", "1.2"), ("1.3", "2.0"), "no proof", (3,)),
        (("2.0", "2.0"), ("1.9", "2.1"), "met", ()),
    ],
)
def test_a_correction_that_changes_no_answer_is_not_blamed_for_one(
    first: Sequence[str], instead: Sequence[str], answer: str, named: Sequence[int]
) -> None:
    job = pressed(*first)
    by = {seq: amend(job, seq, amount(bar)) for seq, bar in zip((2, 3), instead, strict=True)}
    one = found(job, 11)
    assert one.answer == answer
    said = one.text.partition(": as first written")[0]
    for seq, amended in by.items():
        assert not named or (f"entry {seq} corrected in entry {amended}" in said) == (seq in named), one.text


def judged(answer: str, *parts: tuple[str, str, int]) -> Finding:
    details = tuple(Detail(subject, said, "", (seq,)) for subject, said, seq in parts)  # type: ignore[arg-type]
    return Finding(9, "closed", "Closed?", answer, "", tuple(seq for _, _, seq in parts), details)  # type: ignore[arg-type]


def test_where_two_corrections_are_needed_both_are_named_and_so_where_each_would_do() -> None:
    met, not_met = judged("met", ("a", "met", 1)), judged("not met", ("a", "not met", 1))
    both = lambda only: "not met" if {1, 2} <= only else "met"  # noqa: E731
    either = lambda only: "not met" if {1, 2} & only else "met"  # noqa: E731
    for answers in (both, either):
        assert decisive([1, 2, 3], [1, 2, 3], met, not_met, answers) == [1, 2]  # type: ignore[arg-type]
    assert decisive([1, 2, 3], [1, 2, 3], judged("met"), judged("not met"), both) == [1, 2]  # type: ignore[arg-type]
    assert decisive([3], [1, 2, 3], met, judged("not met"), both) == [1, 2]  # type: ignore[arg-type]


def test_of_many_corrections_those_are_named_that_the_changed_parts_rest_on_and_none_is_tried() -> None:
    many = range(2 * MOST_TRIED)
    met = judged("met", *((str(seq), "met", seq) for seq in many))
    half = judged("not met", *((str(seq), "met" if seq < 5 else "not met", seq) for seq in many))
    tried: list[frozenset[int]] = []
    assert list(decisive(many, many, met, half, lambda only: tried.append(only) or "met")) == list(many[5:])  # type: ignore[func-returns-value]
    assert not tried


def test_what_one_question_had_tried_is_not_tried_again_and_what_no_audit_has_left_is_named_untried() -> None:
    met, not_met = (judged(one, ("a", one, 1), ("b", one, 2)) for one in ("met", "not met"))
    first = lambda only: "not met" if 1 in only else "met"  # noqa: E731
    others = {frozenset({99, seq}) for seq in range(MOST_TRIED)}
    of_it = {frozenset({1}), frozenset({2})}
    asked = lambda tried: list(decisive([1, 2], [1, 2], met, not_met, first, tried))  # type: ignore[arg-type] # noqa: E731
    assert asked(frozenset()) == asked(of_it | set(list(others)[2:])) == [1]
    assert asked(others) == asked(set(list(others)[1:])) == [1, 2]

"""A shop's policy sets tolerances, names every mistake, and switches nothing off."""

from __future__ import annotations

from hashlib import sha256

import pytest
from tests.audit.jobs import Job
from tests.audit.shipped import QUESTIONS

from witnessmark.audit.policy import BOUNDS, DEFAULT, MEANS, Policy, Tolerances, read
from witnessmark.audit.run import find
from witnessmark.document.mistake import Mistakes


def test_what_is_not_set_keeps_its_value() -> None:
    digest = sha256(b"lag_s = 120\n").hexdigest()
    assert read("lag_s = 120\n") == Policy(lag_s=120, digest=digest)
    assert read("").set_to == DEFAULT.set_to == {}


def test_it_is_said_whose_tolerances_hold_and_which_are_not_the_standing_ones() -> None:
    assert DEFAULT.said == "those of the questions, no policy of a shop"
    own = read("lag_s = 1\nburst = 2\nmove_s = 3\n")
    assert own.said == f"policy of the shop that made this, SHA-256 {own.digest[:16]}: " + (
        "lag_s 1 instead of 60, burst 2 instead of 4"
    )
    assert read("").said.endswith(": every tolerance as without one") and read("").digest[:16] in read("").said


def test_a_policy_cannot_name_its_own_digest() -> None:
    with pytest.raises(Mistakes):
        read('digest = "00"\n')


def test_every_mistake_is_named_with_its_line() -> None:
    with pytest.raises(Mistakes) as caught:
        read('lag_s = 0\nbrust = 3\nmove_s = "3 s"\n', file="policy.toml")
    found = [(line, one.what, one.hint) for line, one in caught.value.mistakes]
    assert [line for line, _, _ in found] == [1, 2, 3]
    assert "never switched off" in found[0][2]
    assert found[1][2] == "did you mean burst?"
    assert "whole number" in found[2][2]


@pytest.mark.parametrize("text", ["lag_s = 86400", "burst = 1", "burst = 1000", "burst_s = 3600", "move_s = 1000000"])
def test_no_tolerance_is_stretched_until_nothing_can_fail_it_or_all_must(text: str) -> None:
    with pytest.raises(Mistakes) as caught:
        read(text)
    assert "never switched off" in caught.value.mistakes[0][1].hint


def test_every_tolerance_has_its_bounds_and_its_default_lies_within() -> None:
    assert BOUNDS.keys() == set(Tolerances.__struct_fields__) == MEANS.keys()
    assert all(least <= getattr(DEFAULT, name) <= most for name, (least, most) in BOUNDS.items())


def test_a_policy_moves_a_tolerance_and_leaves_the_question() -> None:
    job = Job().open("rr", "p1", 10, entered=90)
    assert find(QUESTIONS[28], job.case()).answer == "not met"
    assert find(QUESTIONS[28], job.case(policy=read("lag_s = 120"))).answer == "met"

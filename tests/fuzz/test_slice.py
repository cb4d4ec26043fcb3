"""A slice of the campaign that `make fuzz` runs whole, and what has to hold of the campaign itself."""

from itertools import islice

import pytest

from tests.fuzz.campaign import Target, run, shares, targets
from tests.fuzz.mutate import LONGEST, inputs

TARGETS = targets()


@pytest.mark.parametrize("target", TARGETS, ids=lambda target: target.name)
def test_only_declared_errors_come_out(target):
    finds = run(target, 400, seed=7)
    assert finds == [], f"{finds[0].data.hex()}\n{finds[0].trace}"


def test_every_target_has_seeds():
    assert [target.name for target in TARGETS if not target.seeds] == []


def test_inputs_are_the_same_every_time_and_begin_with_the_seeds():
    seeds = [b"one", b"two"]
    first = list(inputs("x", seeds, 500))
    assert first == list(inputs("x", seeds, 500))
    assert first[:2] == seeds
    assert len(set(first)) > 250
    assert first != list(inputs("y", seeds, 500)) and first != list(inputs("x", seeds, 500, seed=1))
    assert all(len(data) <= LONGEST for data in islice(inputs("x", [bytes(LONGEST)], 300), 300))


def test_a_target_that_raises_is_a_find_with_its_input():
    def target_fails(data: bytes) -> None:
        assert b"\xff" not in data

    (find,) = run(Target("x.target_fails", target_fails, [b"abc"]), 5000, seed=0)
    assert b"\xff" in find.data and "assert" in find.trace


def test_no_target_is_left_out_of_the_shares():
    given = TARGETS[:3]
    counts = shares(given, 3000)
    assert sum(counts) >= 3000 and min(counts) >= 100

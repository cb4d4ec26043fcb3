"""A value against a band whose ends are in any units of its kind: compared exactly, as the unit library does."""

from __future__ import annotations

from itertools import product

import pytest

from witnessmark.errors import InputError
from witnessmark.job.amount import within
from witnessmark.procedure.model import Limit
from witnessmark.procedure.words import DIMENSIONS
from witnessmark.quantity import Quantity, compare


@pytest.mark.parametrize("kind", DIMENSIONS)
def test_units_of_a_kind_compare_as_the_unit_library_has_them(kind: str) -> None:
    for unit, other in product(DIMENSIONS[kind], repeat=2):
        for value, end in (("-40", "-40"), ("1", "0.3"), ("7", "7"), ("212", "100"), ("0.3", "300")):
            one, bound = Quantity(value, unit), Quantity(end, other)
            sign = compare(one, bound)
            assert within(one, Limit(low=f"{end} {other}")) is (sign >= 0), (one, bound)
            assert within(one, Limit(high=f"{end} {other}")) is (sign <= 0), (one, bound)


@pytest.mark.parametrize(
    ("value", "unit", "low", "high", "inside"),
    [
        ("0.06", "L", "120 mL", "0.3 L", False),
        ("0.12", "L", "120 mL", "0.3 L", True),
        ("301", "mL", "120 mL", "0.3 L", False),
        ("7.0", "N.m", "7 N.m", "7 lbf.ft", True),
        ("9.5", "N.m", "7 N.m", "7 lbf.ft", False),
        ("84", "lbf.in", "7 lbf.ft", "10 N.m", True),
        ("80", "lbf.in", "9.04 N.m", "12 N.m", False),
    ],
)
def test_a_band_may_have_each_end_in_a_unit_of_its_own(
    value: str, unit: str, low: str, high: str, inside: bool
) -> None:
    assert within(Quantity(value, unit), Limit(low, high)) is inside


@pytest.mark.parametrize("unit", ["mL", "1", "s"])
def test_a_value_of_another_kind_is_refused_with_the_unit_to_enter_it_in(unit: str) -> None:
    with pytest.raises(InputError, match="cannot be compared") as refused:
        within(Quantity("2", unit), Limit(low="1 bar"))
    assert refused.value.hint == "enter it in bar"

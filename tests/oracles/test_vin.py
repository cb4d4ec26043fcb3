"""The check digit against the examples of 49 CFR 565 and against vininfo 1.11."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from vininfo import Vin

from witnessmark.wire import vin

LETTERS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"


@pytest.mark.parametrize(
    ("number", "digit"),
    [
        # 1G4... and 1M8...: secondary pages that quote 49 CFR 565.15, sums 411 and 351; 1J9...: an agency letter, 314.
        ("1G4AH59H45G118341", "4"),
        ("1J9RP1A36A1644345", "6"),
        ("1M8GDM9AXKP042788", "X"),
    ],
)
def test_the_examples_of_the_rule_hold(number, digit):
    assert vin.check_digit(number) == digit == number[8]
    verdict = vin.check(number)
    assert verdict.digit_fits
    assert verdict.warning == ""


@given(st.text(LETTERS, min_size=17, max_size=17))
def test_the_digit_fits_where_the_library_says_so(number):
    assert vin.check(number).digit_fits == Vin(number).verify_checksum(check_year=False)


@given(st.text(LETTERS, min_size=17, max_size=17))
def test_a_number_with_its_own_digit_put_in_fits_for_both(number):
    right = number[:8] + vin.check_digit(number) + number[9:]
    assert vin.check(right).digit_fits
    assert Vin(right).verify_checksum(check_year=False)

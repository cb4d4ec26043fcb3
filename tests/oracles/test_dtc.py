"""Trouble codes against udsoncan's `Dtc.id_iso()` and the worked examples of SAE J2012 / ISO 15031-6."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from udsoncan import Dtc

from witnessmark.wire import dtc


@given(st.integers(0, 0xFFFFFF))
def test_every_three_byte_code_prints_as_the_oracle_prints_it(number):
    assert dtc.format_number(number) == Dtc(number).id_iso()


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        # Computed by hand from the bit layout of SAE J2012 and found in secondary pages that quote ISO 15031-6.
        ("523456", "C1234-56"),
        ("C10000", "U0100-00"),
        ("96A1", "B16A1"),
        ("0133", "P0133"),
    ],
)
def test_the_worked_examples_hold_in_both_directions(raw, text):
    assert dtc.format_code(bytes.fromhex(raw)) == text
    assert dtc.parse_code(text) == bytes.fromhex(raw)


@given(st.integers(0, 0xFF))
def test_status_bits_are_named_as_the_oracle_reads_them(status):
    theirs = Dtc.Status.from_byte(status)
    attributes = (
        "test_failed",
        "test_failed_this_operation_cycle",
        "pending",
        "confirmed",
        "test_not_completed_since_last_clear",
        "test_failed_since_last_clear",
        "test_not_completed_this_operation_cycle",
        "warning_indicator_requested",
    )
    expected = tuple(
        name for name, attribute in zip(dtc.STATUS_BITS, attributes, strict=True) if getattr(theirs, attribute)
    )
    assert dtc.status_names(status) == expected

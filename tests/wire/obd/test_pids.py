"""Parameters and masks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.wire.obd import pids


@given(st.sets(st.integers(1, 32)), st.sampled_from([0x00, 0x20, 0x40]))
def test_a_mask_is_built_and_read_back(numbers, first):
    shifted = {first + number for number in numbers}
    assert set(pids.supported(first, pids.mask_of(first, shifted))) == shifted


def test_numbers_of_another_mask_are_left_out():
    assert pids.mask_of(0x20, {0x01, 0x21, 0x41}) == bytes.fromhex("80000000")


def test_the_worked_mask_holds():
    # Worked by hand: BE is 1011 1110, so 01 and 03 to 07.
    assert pids.supported(0x00, bytes.fromhex("BE000000")) == (1, 3, 4, 5, 6, 7)
    assert pids.pid_text(0x00, bytes.fromhex("BE000000")) == "01, 03, 04, 05, 06 and 07"
    assert pids.pid_text(0x00, bytes(4)) == "none"


@pytest.mark.parametrize(
    ("number", "data", "text"),
    [
        # From memory of SAE J1979, annex B; every scaling is also held against a library in tests/oracles.
        (0x0C, "1AF8", "1726 1/min"),
        (0x05, "7B", "83 degC"),
        (0x42, "2EE0", "12 V"),
        (0x32, "FFFC", "-1 Pa"),
        (0x01, "00076500", "00 07 65 00"),
        (0x0C, "1A", "1A"),
        (0xFE, "01", "01"),
    ],
)
def test_a_value_is_printed_with_its_unit_and_anything_else_as_hex(number, data, text):
    assert pids.pid_text(number, bytes.fromhex(data)) == text


def test_every_number_has_a_name():
    assert all(pids.pid_name(number) for number in range(256))

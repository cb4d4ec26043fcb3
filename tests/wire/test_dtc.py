"""Trouble codes written and read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import InputError
from witnessmark.wire import dtc


@given(st.binary(min_size=2, max_size=3))
def test_a_code_is_written_and_read_back(code):
    assert dtc.parse_code(dtc.format_code(code)) == code
    assert dtc.parse_code(" " + dtc.format_code(code).lower()) == code


@pytest.mark.parametrize("text", ["", "C12345", "X1234", "C4234", "C1234-5", "C1234-567", "C123G", "C1234 56"])
def test_another_writing_is_refused_with_how_to_write_it(text):
    with pytest.raises(InputError) as caught:
        dtc.parse_code(text)
    assert "C1234-56" in caught.value.hint


@pytest.mark.parametrize("code", [b"", b"\x01", b"\x01\x02\x03\x04"])
def test_another_length_is_refused(code):
    with pytest.raises(InputError):
        dtc.format_code(code)


def test_status_and_severity_bits_are_named_from_bit_zero():
    # ISO 14229-1:2020, annex D.2 and D.3 (from memory; the first also by udsoncan in tests/oracles).
    assert dtc.status_names(0x89) == ("testFailed", "confirmedDTC", "warningIndicatorRequested")
    assert dtc.severity_names(0x80) == ("checkImmediately",)
    assert dtc.bits_text(0x09, dtc.status_names(0x09)) == "0x09 testFailed, confirmedDTC"
    assert dtc.bits_text(0x00, ()) == "0x00"


def test_formats_are_named_as_the_standard_numbers_them():
    # DTCFormatIdentifier, ISO 14229-1:2020, 12.3.3; 00 to 02 also in udsoncan, see tests/oracles.
    assert list(dtc.FORMATS.values()) == [
        "SAE_J2012-DA_DTCFormat_00",
        "ISO_14229-1_DTCFormat",
        "SAE_J1939-73_DTCFormat",
        "ISO_11992-4_DTCFormat",
        "SAE_J2012-DA_DTCFormat_04",
    ]
    assert list(dtc.FORMATS) == [0, 1, 2, 3, 4]

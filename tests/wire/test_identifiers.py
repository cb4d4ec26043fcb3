"""Data identifiers and their records for people."""

from witnessmark.wire import identifiers


def test_a_standard_identifier_is_named_and_a_makers_is_not():
    assert identifiers.identifier_text(0xF190) == "0xF190 VIN"
    assert identifiers.identifier_text(0xD001) == "0xD001"
    assert identifiers.identifier_name(0xD001) == "vehicleManufacturerSpecific"
    assert identifiers.identifier_name(0x10000) == ""


def test_a_record_of_letters_is_shown_as_letters_and_any_other_as_hex():
    assert identifiers.record_text(0xF190, b"1M8GDM9AXKP042788") == "1M8GDM9AXKP042788"
    assert identifiers.record_text(0xF18C, b"AB12\x00\xff") == "AB12"
    assert identifiers.record_text(0xF190, b"\x00\x01") == "00 01"
    assert identifiers.record_text(0xF190, b"\xff\xff") == "FF FF"
    assert identifiers.record_text(0xD001, b"AB") == "41 42"


def test_a_long_record_is_cut_in_the_text_and_says_how_long_it_is():
    assert identifiers.record_text(0xD001, bytes(100)).endswith("... (100 bytes)")

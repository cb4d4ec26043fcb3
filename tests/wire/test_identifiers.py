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
    assert identifiers.record_text(0xD001, b"\x41" * 32) == " ".join(["41"] * 32)
    assert identifiers.record_text(0xD001, bytes(33)) == " ".join(["00"] * 32) + " ... (33 bytes)"
    assert identifiers.record_text(0xD001, bytes(100)).endswith("... (100 bytes)")


def test_ranges_end_where_annex_c_ends_them():
    # From memory of ISO 14229-1:2020, annex C.1.
    edges = {
        0x00FF: "ISOSAEReserved",
        0x0100: "vehicleManufacturerSpecific",
        0xA5FF: "vehicleManufacturerSpecific",
        0xA600: "reservedForLegislativeUse",
        0xF00F: "networkConfigurationDataForTractorTrailerApplication",
        0xF010: "vehicleManufacturerSpecific",
        0xF1F0: "identificationOptionSystemSupplierSpecific",
        0xF2FF: "periodicDataIdentifier",
        0xF300: "dynamicallyDefinedDataIdentifier",
        0xF5FF: "OBDDataIdentifier",
        0xF600: "OBDMonitorDataIdentifier",
        0xF800: "OBDInfoTypeDataIdentifier",
        0xF900: "tachographDataIdentifier",
        0xFA0F: "airbagDeploymentDataIdentifier",
        0xFA10: "safetySystemDataIdentifier",
        0xFCFF: "reservedForLegislativeUse",
        0xFD00: "systemSupplierSpecific",
        0xFF02: "ISOSAEReserved",
    }
    assert {number: identifiers.identifier_name(number) for number in edges} == edges

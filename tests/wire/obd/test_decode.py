"""ISO 15031-5 / SAE J1979 messages read for people; worked sequences are from memory of SAE J1979 unless said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from witnessmark.errors import PeerError
from witnessmark.wire.obd.decode import decode
from witnessmark.wire.uds.decode import describe


@pytest.mark.parametrize(
    ("payload", "expected"),
    [
        ("010C0D", [("PID", 0x0C), ("PID", 0x0D)]),
        ("410C1AF80D32", [("PID", 0x0C), ("data", 1726.0), ("PID", 0x0D), ("data", 50.0)]),
        ("41057B", [("PID", 0x05), ("data", 83.0)]),
        ("4104FF", [("PID", 0x04), ("data", 100.0)]),
        ("41FF0102", [("PID", 0xFF), ("data", b"\x01\x02")]),
        ("020C00", [("PID", 0x0C), ("frame", 0)]),
        ("420C001AF8", [("PID", 0x0C), ("frame", 0), ("data", 1726.0)]),
        ("4202000133", [("PID", 0x02), ("frame", 0), ("DTC", 0x0133)]),
        ("43020133C123", [("numberOfDTC", 2), ("DTC", 0x0133), ("DTC", 0xC123)]),
        ("4300", [("numberOfDTC", 0)]),
        ("43013300000000", [("DTC", 0x0133), ("filler", 0), ("filler", 0)]),
        ("47010133", [("numberOfDTC", 1), ("DTC", 0x0133)]),
        ("4A010133", [("numberOfDTC", 1), ("DTC", 0x0133)]),
        ("44", []),
        ("4600C0000001", [("OBDMID", 0), ("supported", (1, 2, 32))]),
        (
            "46010A0B000100000005",
            [
                ("OBDMID", 1),
                ("testID", 0x0A),
                ("unitAndScalingID", 0x0B),
                ("testValue", 1),
                ("minimumTestLimit", 0),
                ("maximumTestLimit", 5),
            ],
        ),
        ("490055400000", [("infoType", 0), ("supported", (2, 4, 6, 8, 10))]),
        ("49000155400000", [("infoType", 0), ("numberOfDataItems", 1), ("supported", (2, 4, 6, 8, 10))]),
        ("48010203", [("testID", 1), ("data", b"\x02\x03")]),
        ("4800C0000001", [("testID", 0), ("supported", (1, 2, 32))]),
        ("080001020304", [("testID", 0), ("data", b"\x01\x02\x03\x04")]),
        ("41E080000000", [("PID", 0xE0), ("supported", (0xE1,))]),
        ("450102AA", [("testID", 1), ("data", b"\x02\xaa")]),
        ("0902", [("infoType", 2)]),
    ],
)
def test_a_message_is_read_into_its_parameters(payload, expected):
    read = decode(bytes.fromhex(payload))
    assert [(field.name, field.value) for field in read.fields] == expected
    assert (read.rest, read.problem) == (b"", "")


def test_the_vin_is_read_with_its_filler_off():
    answer = bytes.fromhex("490201") + b"1M8GDM9AXKP042788"
    assert decode(answer).value("data") == "1M8GDM9AXKP042788"


def test_a_refusal_is_read():
    read = decode(bytes.fromhex("7F0112"))
    assert (read.direction, read.value("responseCode")) == ("negative", 0x12)
    assert read.text.endswith("subFunctionNotSupported (0x12)")


@pytest.mark.parametrize(
    ("payload", "problem", "rest"),
    [
        ("01", "short", ""),
        ("41", "short", ""),
        ("410C1A", "short", "0C1A"),
        ("41FF", "short", "FF"),
        ("0300", "long", "00"),
        ("4303", "short", ""),
        ("4303 0133 C123", "short", ""),
        ("4301 0133 C123", "long", "C123"),
        ("4302 0301 02", "short", "02"),
        ("4601", "short", "01"),
        ("4902", "short", "02"),
        ("020C", "short", "0C"),
    ],
)
def test_a_message_of_the_wrong_length_says_so(payload, problem, rest):
    read = decode(bytes.fromhex(payload))
    assert (read.problem, read.rest) == (problem, bytes.fromhex(rest))


def test_the_uds_decoder_hands_these_services_over():
    # ISO 14229-1:2020, table 2: 01 to 0F are ISO 15031-5's.
    assert describe(bytes.fromhex("03")) == decode(b"\x03").text


@given(st.binary(min_size=1, max_size=40))
def test_no_byte_is_lost_and_only_declared_errors_come_out(body):
    for start in (*range(0x01, 0x0B), *range(0x41, 0x4B)):
        read = decode(bytes((start,)) + body)
        assert b"".join(field.raw for field in read.fields) + read.rest == body
        assert read.service == start & 0x3F


@given(st.binary(max_size=4))
def test_any_bytes_give_a_meaning_or_a_peer_error(payload):
    try:
        assert decode(payload).text
    except PeerError as error:
        assert error.reason in ("empty", "short_negative")


def test_services_are_named():
    # SAE J1979 (from memory).
    said = {
        "03": "emission-related diagnostic trouble codes",
        "04": "clear/reset emission-related diagnostic information",
        "07": "emission-related diagnostic trouble codes of the current or last driving cycle",
        "0A": "emission-related diagnostic trouble codes with permanent status",
    }
    assert {number: describe(bytes.fromhex(number)) for number in said} == {
        number: f"service 0x{number} ({name})" for number, name in said.items()
    }


def test_information_types_are_named():
    # SAE J1979, service 09 (from memory).
    said = [describe(bytes((0x09, number))).split(": ", 1)[1] for number in (0x02, 0x04, 0x06, 0x0A)]
    assert said == [
        "0x02 VIN",
        "0x04 calibration identifications",
        "0x06 calibration verification numbers",
        "0x0A control unit name",
    ]


def test_counts_lists_and_fillers_are_said_in_words():
    said = {
        "43010301": "1 trouble code, P0301",
        "4302030102": "2 trouble codes, P0301; cut off after 02",
        "410080000001": "0x00 supported parameters 01 to 20, 01 and 20",
        "490201314142": "0x02 VIN, 1 data item, 1AB",
        "49020100000031": "0x02 VIN, message 1, 1 (00 00 00 31)",
    }
    assert {one: describe(bytes.fromhex(one)).split(": positive, ")[1] for one in said} == said

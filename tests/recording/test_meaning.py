"""Which standard a heard message is read by."""

import pytest

from witnessmark.recording.meaning import describe, describe_request


@pytest.mark.parametrize(
    ("payload", "says"),
    [
        ("1003", "DiagnosticSessionControl"),
        ("7f2231", "requestOutOfRange"),
        ("2101", "readDataByLocalIdentifier"),
        ("5802 0133 e0", "readDiagnosticTroubleCodesByStatus"),
        ("7f1812", "readDiagnosticTroubleCodesByStatus"),
        ("0100", "current powertrain diagnostic data"),
        ("7f22", "cannot be read"),
        ("", "cannot be read"),
    ],
)
def test_a_message_is_read_by_the_standard_that_has_its_service(payload, says):
    assert says in describe(bytes.fromhex(payload))


def test_an_answer_is_read_beside_its_request():
    assert "ReadDataByIdentifier" in describe(bytes.fromhex("7f2231"), bytes.fromhex("22f190"))


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ([b"\x50\x90"], "startDiagnosticSession: diagnosticMode 0x90"),
        ([b"\x7f\x10\x12"], "bit 7 may be the suppress bit"),
        ([], "bit 7 may be the suppress bit"),
    ],
)
def test_the_answer_tells_whether_bit_7_of_a_session_is_the_suppress_bit(answers, says):
    assert says in describe_request(b"\x10\x90", answers)


def test_a_service_number_that_looks_like_an_answer_is_a_request_on_a_line_that_asks():
    assert describe_request(b"\x62") == "service 0x62" and describe_request(b"\x7f\x01") == "service 0x7F: 01"

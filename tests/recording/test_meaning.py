"""Which standard a heard message is read by."""

import pytest

from witnessmark.recording.meaning import describe


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

"""Requests with their answers, as the examples of ISO 14229-1 have them.

All from memory: the text of the standard was not at hand. What they fix is that request and answer pair, that neither
is cut off or overlong, and what the line for people says.
"""

import pytest

from witnessmark.wire.uds.decode import decode
from witnessmark.wire.uds.head import head

SEQUENCES = [
    ("10 02", "50 02 0032 01F4", "DiagnosticSessionControl programmingSession"),
    ("11 01", "51 01", "ECUReset hardReset"),
    ("27 01", "67 01 3657", "SecurityAccess requestSeed 0x01"),
    ("27 02 C9A9", "67 02", "SecurityAccess sendKey 0x02"),
    ("28 01 02", "68 01", "CommunicationControl enableRxAndDisableTx"),
    ("3E 00", "7E 00", "TesterPresent zeroSubFunction"),
    ("85 02", "C5 02", "ControlDTCSetting off"),
    ("22 F190", "62 F190 " + b"1M8GDM9AXKP042788".hex(), "ReadDataByIdentifier 0xF190 VIN"),
    ("22 010A 0110", "62 010A A6661300 0110 8C", "ReadDataByIdentifier 0x010A"),
    ("23 24 20481392 0103", "63 00 8C", "ReadMemoryByAddress"),
    ("2E F190 " + b"1M8GDM9AXKP042788".hex(), "6E F190", "WriteDataByIdentifier 0xF190 VIN"),
    ("14 FFFF33", "54", "ClearDiagnosticInformation"),
    ("19 01 08", "59 01 2F 01 0001", "ReadDTCInformation reportNumberOfDTCByStatusMask"),
    ("19 02 84", "59 02 7F 0A9B17 24 080511 2F", "ReadDTCInformation reportDTCByStatusMask"),
    ("2F 9B00 03 3C", "6F 9B00 03 0C", "InputOutputControlByIdentifier 0x9B00"),
    ("31 01 0201", "71 01 0201 32", "RoutineControl startRoutine 0x0201"),
    ("31 02 0201", "71 02 0201 30", "RoutineControl stopRoutine 0x0201"),
    ("31 03 0201", "71 03 0201 30 33", "RoutineControl requestRoutineResults 0x0201"),
]


@pytest.mark.parametrize(("request_", "answer", "title"), SEQUENCES)
def test_a_request_and_its_answer_are_whole_and_of_one_kind(request_, answer, title):
    asked, told = bytes.fromhex(request_), bytes.fromhex(answer)
    read = decode(asked)
    reply = decode(told, request=asked)
    assert (read.direction, read.problem) == ("request", "")
    assert (reply.direction, reply.problem) == ("positive", "")
    assert head(asked).service == head(told).service
    assert head(asked).sub_function == head(told).sub_function
    assert read.text.startswith(title)
    assert reply.text.startswith(title)


def test_the_trouble_codes_of_the_example_are_printed_as_a_workshop_writes_them():
    read = decode(bytes.fromhex("59027F 0A9B17 24 080511 2F"))
    assert [field.text for field in read.fields if field.name == "DTC"] == ["P0A9B-17", "P0805-11"]


def test_the_two_records_of_the_example_are_told_apart():
    read = decode(bytes.fromhex("62010AA666130001108C"), request=bytes.fromhex("22010A0110"))
    assert read.values("dataRecord") == (bytes.fromhex("A6661300"), b"\x8c")


def test_a_chain_of_pending_answers_ends_with_the_real_one():
    # A routine that takes longer than P2: as many 0x78 as it needs, then its answer.
    chain = [bytes.fromhex(answer) for answer in ("7F3178", "7F3178", "71010203")]
    facts = [head(answer) for answer in chain]
    assert [one.response_code for one in facts] == [0x78, 0x78, None]
    assert {one.service for one in facts} == {0x31}


@pytest.mark.parametrize(
    ("answer", "values"),
    [
        (
            "591A 7B 05 523456 2F",
            {"DTCStatusAvailabilityMask": 0x7B, "DTCExtDataRecordNumber": 0x05, "DTC": 0x523456, "statusOfDTC": 0x2F},
        ),
        (
            "5956 33 7B 04 01 523456 2F",
            {
                "FunctionalGroupIdentifier": 0x33,
                "DTCStatusAvailabilityMask": 0x7B,
                "DTCFormatIdentifier": 0x04,
                "DTCReadinessGroupIdentifier": 0x01,
                "DTC": 0x523456,
                "statusOfDTC": 0x2F,
            },
        ),
    ],
)
def test_the_reports_of_edition_2020_are_laid_out_as_remembered(answer, values):
    # 12.3.3; no library at hand reads 1A and 56.
    read = decode(bytes.fromhex(answer))
    assert {field.name: field.value for field in read.fields[1:]} == values
    assert read.problem == ""

"""ISO 14229-1 messages read for people."""

import subprocess
import sys

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from witnessmark.errors import PeerError
from witnessmark.wire.uds.decode import decode, describe
from witnessmark.wire.uds.head import head
from witnessmark.wire.uds.layouts import ANSWERS, REQUESTS, answer_layout, request_layout
from witnessmark.wire.uds.services import Service

LINES = {
    # Worked by hand from the layouts of ISO 14229-1:2020 (from memory); the bytes themselves are checked against
    # libraries in tests/oracles.
    "1003": "DiagnosticSessionControl extendedDiagnosticSession",
    "1045": "DiagnosticSessionControl vehicleManufacturerSpecific 0x45",
    "5003003201F4": (
        "DiagnosticSessionControl extendedDiagnosticSession: positive, P2Server_max 50 ms, P2*Server_max 5000 ms"
    ),
    "5003": "DiagnosticSessionControl extendedDiagnosticSession: positive",
    "1101": "ECUReset hardReset",
    "51040A": "ECUReset enableRapidPowerShutDown: positive, powerDownTime 10 s",
    "14FFFFFF": "ClearDiagnosticInformation: groupOfDTC all groups",
    "54": "ClearDiagnosticInformation: positive",
    "14FFFFD0": "ClearDiagnosticInformation: groupOfDTC safety-related systems",
    "14FFFF33": "ClearDiagnosticInformation: groupOfDTC emissions-related systems",
    "5104FF": "ECUReset enableRapidPowerShutDown: positive, powerDownTime not available",
    "640105 61": "ReadScalingDataByIdentifier 0x0105: positive, scalingByte ASCII, 1 bytes",
    "640105 90 01": (
        "ReadScalingDataByIdentifier 0x0105: positive, scalingByte formula, 0 bytes, scalingByteExtension 01"
    ),
    "640105 72": "ReadScalingDataByIdentifier 0x0105: positive, scalingByte signedFloatingPoint, 2 bytes",
    "640105 C1": "ReadScalingDataByIdentifier 0x0105: positive, scalingByte reserved, 1 bytes",
    "6908 04": (
        "Authentication authenticationConfiguration: positive, authenticationReturnParameter 0x04 "
        "authenticationConfigurationACRWithSymmetricCryptography"
    ),
    "690312 0001 AB": (
        "Authentication proofOfOwnership: positive, authenticationReturnParameter 0x12 "
        "ownershipVerifiedAuthenticationComplete, lengthOfSessionKeyInfo 00 01, sessionKeyInfo AB"
    ),
    "190209": "ReadDTCInformation reportDTCByStatusMask: DTCStatusMask 0x09 testFailed, confirmedDTC",
    "590200": "ReadDTCInformation reportDTCByStatusMask: positive, DTCStatusAvailabilityMask 0x00",
    "590209 523456 09": (
        "ReadDTCInformation reportDTCByStatusMask: positive, DTCStatusAvailabilityMask 0x09 testFailed, confirmedDTC, "
        "1 trouble code: C1234-56 (0x09, failed now, confirmed)"
    ),
    "5906 523456 09": (
        "ReadDTCInformation reportDTCExtDataRecordByDTCNumber: positive, 1 trouble code: C1234-56 (0x09, failed now, "
        "confirmed)"
    ),
    "5904 523456 09 01 02 4801 AABB 4802 CC": (
        "ReadDTCInformation reportDTCSnapshotRecordByDTCNumber: positive, DTCSnapshotRecordNumber 0x01, "
        "DTCSnapshotRecordNumberOfIdentifiers 02, 0x4801, DTCSnapshotRecord AA BB 48 02 CC, "
        "1 trouble code: C1234-56 (0x09, failed now, confirmed)"
    ),
    "1906 523456 FF": (
        "ReadDTCInformation reportDTCExtDataRecordByDTCNumber: DTCMaskRecord C1234-56, "
        "DTCExtDataRecordNumber all records"
    ),
    "1955 D0": (
        "ReadDTCInformation reportWWHOBDDTCWithPermanentStatus: FunctionalGroupIdentifier 0xD0 safety-system group"
    ),
    "22F190": "ReadDataByIdentifier 0xF190 VIN",
    "22F1901234": "ReadDataByIdentifier 0xF190 VIN, 0x1234",
    "62F190" + b"1M8GDM9AXKP042788".hex(): "ReadDataByIdentifier 0xF190 VIN: positive, 1M8GDM9AXKP042788",
    "2312123405": ("ReadMemoryByAddress: addressAndLengthFormatIdentifier 12, memoryAddress 12 34, memorySize 05"),
    "2705": "SecurityAccess requestSeed 0x05",
    "670511223344": "SecurityAccess requestSeed 0x05: positive, securitySeed 11 22 33 44",
    "2706AABB": "SecurityAccess sendKey 0x06: securityKey AA BB",
    "280301": "CommunicationControl disableRxAndTx: communicationType 0x01 normalCommunicationMessages",
    "280012": (
        "CommunicationControl enableRxAndTx: communicationType 0x12 networkManagementCommunicationMessages, subnet 1"
    ),
    "2800F3": (
        "CommunicationControl enableRxAndTx: communicationType 0xF3 networkManagementCommunicationMessages and "
        "normalCommunicationMessages, the network it came on"
    ),
    "2EF19041": "WriteDataByIdentifier 0xF190 VIN: A",
    "2FD0010305": "InputOutputControlByIdentifier 0xD001: shortTermAdjustment, controlState 05",
    "6FD00100": "InputOutputControlByIdentifier 0xD001: positive, returnControlToECU",
    "3101FF00": "RoutineControl startRoutine 0xFF00 eraseMemory",
    "31010203": "RoutineControl startRoutine 0x0203",
    "71010203": "RoutineControl startRoutine 0x0203: positive",
    "7103020301": "RoutineControl requestRoutineResults 0x0203: positive, routineStatusRecord 01",
    "3E80": "TesterPresent zeroSubFunction: no positive answer wanted",
    "8502": "ControlDTCSetting off",
    "C502": "ControlDTCSetting off: positive",
    "7F3122": "negative: RoutineControl conditionsNotCorrect (0x22)",
    "7F3178": "negative: RoutineControl requestCorrectlyReceived-ResponsePending (0x78)",
    "7F31F1": "negative: RoutineControl 0xF1 vehicleManufacturerSpecificConditionsNotCorrect (0xF1)",
    "36010203": "TransferData: body 01 02 03",
    # Bit 7 set in an answer: seen from a unit that numbers its sessions as ISO 14230-3 does.
    "5090": "startDiagnosticSession 0x90: positive, session 0x90 of ISO 14230-3",
    "1090": "DiagnosticSessionControl 0x10: no positive answer wanted (bit 7 may be the suppress bit, or this is "
    "session 0x90 of ISO 14230-3)",
    "6701": "SecurityAccess requestSeed 0x01: positive; cut off",
    "2702": "SecurityAccess sendKey 0x02; cut off",
    "6702": "SecurityAccess sendKey 0x02: positive",
    "59022F03010028": "ReadDTCInformation reportDTCByStatusMask: positive, DTCStatusAvailabilityMask 0x2F testFailed, "
    "testFailedThisOperationCycle, pendingDTC, confirmedDTC, testFailedSinceLastClear, 1 trouble code: P0301-00 "
    "(0x28, confirmed, failed since last clear)",
    "62F190314D00": "ReadDataByIdentifier 0xF190 VIN: positive, 1M, then 00",
    # Numbers that ISO 14229-1 leaves open and ISO 14230-3 uses.
    "1800FF00": "readDiagnosticTroubleCodesByStatus: statusOfDTCRequest 00, groupOfDTC 0xFF00 all",
    "7F1821": "negative: readDiagnosticTroubleCodesByStatus busy-repeatRequest (0x21)",
    "2101": "readDataByLocalIdentifier: recordLocalIdentifier 01",
    "9F90": "service 0x9F: 90",
}


@pytest.mark.parametrize("payload", sorted(LINES))
def test_a_message_is_said_in_one_line(payload):
    assert describe(bytes.fromhex(payload)) == LINES[payload]


def test_a_refusal_names_what_was_refused_when_the_request_is_known():
    refusal = bytes.fromhex("7F3122")
    assert describe(refusal, bytes.fromhex("31010203")) == (
        "negative: RoutineControl startRoutine 0x0203 conditionsNotCorrect (0x22)"
    )
    assert describe(refusal, bytes.fromhex("22F190")) == "negative: RoutineControl conditionsNotCorrect (0x22)"


@pytest.mark.parametrize(
    ("payload", "problem", "rest"),
    [
        ("10", "short", ""),
        ("1902", "short", ""),
        ("590209 5234", "short", "5234"),
        ("31 01 02", "short", "02"),
        ("23 24 0102", "short", "0102"),
        ("1101 04", "long", "04"),
        ("7F 31 22 00", "long", "00"),
        ("3E00 00", "long", "00"),
    ],
)
def test_a_message_of_the_wrong_length_is_read_as_far_as_it_goes_and_says_so(payload, problem, rest):
    read = decode(bytes.fromhex(payload))
    assert (read.problem, read.rest) == (problem, bytes.fromhex(rest))
    assert ("cut off" if problem == "short" else "followed by") in read.text


@pytest.mark.parametrize(("payload", "reason"), [("", "empty"), ("7F", "short_negative"), ("7F31", "short_negative")])
def test_what_cannot_be_read_raises_with_its_reason(payload, reason):
    with pytest.raises(PeerError) as caught:
        decode(bytes.fromhex(payload))
    assert caught.value.reason == reason


def test_a_long_list_of_trouble_codes_is_cut_in_the_text_and_says_how_many_more():
    text = describe(bytes.fromhex("5902FF" + "52345609" * 34))
    assert "34 trouble codes: " in text and text.endswith("(0x09, failed now, confirmed) and 2 more")
    assert text.count("C1234-56") == 32


def test_every_service_has_a_layout_for_request_and_answer():
    for service in Service:
        assert request_layout(service, 1) is not None
        assert answer_layout(service, 1) is not None
    by_sub_function = {0x19, 0x27, 0x29}
    assert (
        REQUESTS.keys() | by_sub_function == ANSWERS.keys() | by_sub_function == {int(service) for service in Service}
    )


def test_services_beyond_the_workshop_are_named_and_keep_their_body():
    for service in (0x2A, 0x2C, 0x34, 0x35, 0x36, 0x37, 0x38, 0x3D, 0x83, 0x84, 0x86, 0x87):
        read = decode(bytes((service, 0x01, 0x02, 0x03)))
        assert read.name == Service(service).iso_name
        assert b"".join(field.raw for field in read.fields) == b"\x01\x02\x03"
        assert read.problem == ""


@given(st.binary(min_size=1, max_size=64))
@example(bytes.fromhex("23FF0102"))
@example(bytes.fromhex("29020000010000"))
@example(bytes.fromhex("59"))
def test_no_byte_is_lost_and_only_declared_errors_come_out(payload):
    try:
        read = decode(payload)
    except PeerError as error:
        assert error.reason == "short_negative"
        return
    facts = head(payload)
    assert (read.service, read.direction == "negative") == (facts.service, facts.negative)
    assert "\n" not in read.text
    assert b"".join(field.raw for field in read.fields) + read.rest == payload[1:]


@given(st.binary(max_size=24), st.binary(max_size=24))
def test_a_foreign_request_never_breaks_the_reading_of_an_answer(payload, request_):
    try:
        alone = decode(payload)
    except PeerError:
        return
    paired = decode(payload, request=request_)
    assert (paired.service, paired.direction, paired.rest) == (alone.service, alone.direction, alone.rest)


@given(st.binary(min_size=1, max_size=8), st.binary(max_size=24))
def test_a_service_number_followed_by_anything_is_read(start, body):
    for service in (0x19, 0x59, 0x29, 0x69, 0x23):
        read = decode(bytes((service,)) + start + body)
        assert b"".join(field.raw for field in read.fields) + read.rest == start + body


def test_names_and_heads_are_there_without_construct():
    code = (
        "import sys; import witnessmark.wire.uds.head, witnessmark.wire.uds.codes, witnessmark.wire.uds.names, "
        "witnessmark.wire.uds.timing, witnessmark.wire.obd.decode, witnessmark.wire.vin, witnessmark.wire.dtc; "
        "sys.exit('construct' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-W", "error", "-c", code], check=False).returncode == 0

"""Requests against udsoncan 1.26: `services.X.make_request(...).get_payload()` must be the same bytes."""

import pytest
import udsoncan
from udsoncan import services as oracle

from witnessmark.wire.uds import requests
from witnessmark.wire.uds.decode import decode
from witnessmark.wire.uds.names import Routine
from witnessmark.wire.uds.reports import REPORT_NAMES, Report

CODE = 0x523456


def test_sessions_resets_and_settings_are_the_oracles():
    for number in range(1, 0x7F):
        assert requests.session(number) == oracle.DiagnosticSessionControl.make_request(number).get_payload()
        assert requests.ecu_reset(number) == oracle.ECUReset.make_request(number).get_payload()
        assert (
            requests.dtc_setting(number, b"\x01")
            == oracle.ControlDTCSetting.make_request(number, b"\x01").get_payload()
        )
    assert requests.tester_present(suppress=False) == oracle.TesterPresent.make_request().get_payload()


def test_the_suppress_bit_is_the_oracles():
    ours = requests.session(3, suppress=True)
    theirs = oracle.DiagnosticSessionControl.make_request(3).get_payload(suppress_positive_response=True)
    assert ours == theirs
    assert requests.tester_present() == oracle.TesterPresent.make_request().get_payload(suppress_positive_response=True)


def test_security_access_is_the_oracles():
    mode = oracle.SecurityAccess.Mode
    for level in (1, 5, 0x41):
        theirs = oracle.SecurityAccess.make_request(level, mode.RequestSeed, b"\xaa").get_payload()
        assert requests.request_seed(level, b"\xaa") == theirs
        theirs = oracle.SecurityAccess.make_request(level + 1, mode.SendKey, b"\x11\x22").get_payload()
        assert requests.send_key(level + 1, b"\x11\x22") == theirs


@pytest.mark.parametrize(("control", "node"), [(0, None), (1, None), (2, None), (3, None), (4, 0x0A0B), (5, 1)])
def test_communication_control_is_the_oracles(control, node):
    kind = udsoncan.CommunicationType(subnet=0, normal_msg=True, network_management_msg=True)
    theirs = oracle.CommunicationControl.make_request(control, kind, node).get_payload()
    assert requests.communication(control, 0x03, node) == theirs


def test_clearing_is_the_oracles():
    assert requests.clear_dtc() == oracle.ClearDiagnosticInformation.make_request().get_payload()
    theirs = oracle.ClearDiagnosticInformation.make_request(0x401234, memory_selection=2).get_payload()
    assert requests.clear_dtc(0x401234, 2) == theirs


def test_reading_writing_and_controlling_are_the_oracles():
    config = {0xF190: udsoncan.AsciiCodec(17), 0x1234: ">H", 0xD001: "B"}
    theirs = oracle.ReadDataByIdentifier.make_request([0xF190, 0x1234], config).get_payload()
    assert requests.read_data(0xF190, 0x1234) == theirs
    theirs = oracle.WriteDataByIdentifier.make_request(0x1234, 0xBEEF, config).get_payload()
    assert requests.write_data(0x1234, b"\xbe\xef") == theirs
    io = oracle.InputOutputControlByIdentifier
    theirs = io.make_request(0xD001, 3, values=[5], masks=None, ioconfig={0xD001: "B"}).get_payload()
    assert requests.io_control(0xD001, 3, b"\x05") == theirs
    theirs = io.make_request(0xD001, 0, ioconfig={0xD001: "B"}).get_payload()
    assert requests.io_control(0xD001) == theirs


@pytest.mark.parametrize("control", list(Routine))
def test_routines_are_the_oracles(control):
    theirs = oracle.RoutineControl.make_request(0x0203, int(control), b"\x01\x02").get_payload()
    assert requests.routine(control, 0x0203, b"\x01\x02") == theirs


@pytest.mark.parametrize(("address_bytes", "size_bytes"), [(1, 1), (2, 1), (3, 2), (4, 2), (4, 4)])
def test_memory_reads_are_the_oracles(address_bytes, size_bytes):
    place = udsoncan.MemoryLocation(0x7F, 0x10, address_format=8 * address_bytes, memorysize_format=8 * size_bytes)
    theirs = oracle.ReadMemoryByAddress.make_request(place).get_payload()
    assert requests.read_memory(0x7F, 0x10, address_bytes=address_bytes, size_bytes=size_bytes) == theirs


REPORTS = {
    **{number: {"DTCStatusMask": 0x2F} for number in (0x01, 0x02, 0x0F, 0x11, 0x12, 0x13)},
    **{number: {} for number in (0x03, 0x0A, 0x0B, 0x0C, 0x0D, 0x0E, 0x14, 0x15)},
    0x04: {"DTCMaskRecord": CODE, "DTCSnapshotRecordNumber": 2},
    0x05: {"DTCStoredDataRecordNumber": 2},
    **{number: {"DTCMaskRecord": CODE, "DTCExtDataRecordNumber": 3} for number in (0x06, 0x10)},
    **{number: {"DTCSeverityMask": 0x20, "DTCStatusMask": 0x2F} for number in (0x07, 0x08)},
    0x09: {"DTCMaskRecord": CODE},
    0x16: {"DTCExtDataRecordNumber": 3},
    0x17: {"DTCStatusMask": 0x2F, "MemorySelection": 4},
    0x18: {"DTCMaskRecord": CODE, "UserDefDTCSnapshotRecordNumber": 2, "MemorySelection": 4},
    0x19: {"DTCMaskRecord": CODE, "DTCExtDataRecordNumber": 3, "MemorySelection": 4},
    0x42: {"FunctionalGroupIdentifier": 0x33, "DTCStatusMask": 0x2F, "DTCSeverityMask": 0x20},
    0x55: {"FunctionalGroupIdentifier": 0x33},
}
OURS_ALONE = {
    # The oracle names these two and builds neither; layouts from memory of ISO 14229-1:2020, 12.3.2.
    0x1A: ({"DTCExtDataRecordNumber": 3}, "191A03"),
    0x56: ({"FunctionalGroupIdentifier": 0x33, "DTCReadinessGroupIdentifier": 1}, "19563301"),
}


@pytest.mark.parametrize("number", sorted(REPORTS))
def test_reports_of_trouble_codes_are_asked_for_as_the_oracle_does(number):
    # The oracle gives 19 42 its severity mask without the class bits, so the value used here has none.
    theirs = oracle.ReadDTCInformation.make_request(
        number,
        status_mask=0x2F,
        severity_mask=0x20,
        dtc_class=0,
        dtc=CODE,
        snapshot_record_number=2,
        extended_data_record_number=3,
        memory_selection=4,
        functional_group_id=0x33,
        standard_version=2013 if number in range(0x0F, 0x14) else 2020,
    ).get_payload()
    assert requests.read_dtc(number, **REPORTS[number]) == theirs


@pytest.mark.parametrize("number", sorted(OURS_ALONE))
def test_reports_that_the_oracle_does_not_build_follow_the_standard(number):
    parameters, expected = OURS_ALONE[number]
    assert requests.read_dtc(number, **parameters).hex().upper() == expected


def test_every_report_is_checked_here():
    assert REPORTS.keys() | OURS_ALONE.keys() == REPORT_NAMES.keys() == {int(report) for report in Report}


AUTHENTICATION = [
    (0, {}, {}),
    *(
        (
            task,
            {"communicationConfiguration": 1, "certificateClient": b"cert", "challengeClient": b"\x01\x02"},
            {"communication_configuration": 1, "certificate_client": b"cert", "challenge_client": b"\x01\x02"},
        )
        for task in (1, 2)
    ),
    (
        3,
        {"proofOfOwnershipClient": b"proof", "ephemeralPublicKeyClient": b"key"},
        {"proof_of_ownership_client": b"proof", "ephemeral_public_key_client": b"key"},
    ),
    (
        4,
        {"certificateEvaluationId": 0x0102, "certificateData": b"data"},
        {"certificate_evaluation_id": 0x0102, "certificate_data": b"data"},
    ),
    (
        5,
        {"communicationConfiguration": 2, "algorithmIndicator": bytes(16)},
        {"communication_configuration": 2, "algorithm_indicator": bytes(16)},
    ),
    *(
        (
            task,
            {
                "algorithmIndicator": bytes(range(16)),
                "proofOfOwnershipClient": b"proof",
                "challengeClient": b"challenge",
                "additionalParameter": b"more",
            },
            {
                "algorithm_indicator": bytes(range(16)),
                "proof_of_ownership_client": b"proof",
                "challenge_client": b"challenge",
                "additional_parameter": b"more",
            },
        )
        for task in (6, 7)
    ),
    (8, {}, {}),
]


@pytest.mark.parametrize(("task", "values", "theirs"), AUTHENTICATION)
def test_authentication_is_the_oracles_and_is_read_back(task, values, theirs):
    payload = requests.authentication(task, values)
    assert payload == oracle.Authentication.make_request(task, **theirs).get_payload()
    read = decode(payload)
    assert read.problem == ""
    assert {name: read.value(name) for name in values} == values

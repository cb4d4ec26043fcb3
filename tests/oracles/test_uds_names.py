"""Names against udsoncan 1.26 and scapy 2.8, letter for letter but for capitals and signs."""

import re
import warnings

import pytest
from udsoncan import services as oracle
from udsoncan.common.dids import DataIdentifier
from udsoncan.ResponseCode import ResponseCode as OracleCode

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # scapy's own imports warn about ciphers; nothing of ours is loaded here
    from scapy.contrib.automotive.uds import UDS, UDS_NR, UDS_RDTCI

from witnessmark.wire import identifiers
from witnessmark.wire.uds.codes import ResponseCode, nrc_name
from witnessmark.wire.uds.names import SUB_FUNCTIONS, sub_function_name
from witnessmark.wire.uds.reports import REPORT_NAMES
from witnessmark.wire.uds.services import Service


def letters(name):
    return re.sub(r"[^a-z0-9]", "", name.lower())


UDSONCAN = {value: name for name, value in vars(OracleCode).items() if isinstance(value, int)}
SCAPY = {code: name for code, name in UDS_NR.negativeResponseCodes.items() if name != "ISOSAEReserved"}

# Where the voters differ. udsoncan keeps the names of the security sub-layer document (ISO 15764) that ISO 14229-1:2013
# sets 38 to 4F aside for; scapy and tshark 4.0.17 (`tshark -G values`, uds.err.code, read once and written down here)
# have those of ISO 14229-1:2020, annex A.1. scapy has no 38, 39 and 94.
VOTES = {
    0x38: ("GeneralSecurityViolation", None, "Secure Data Transmission Required"),
    0x39: ("SecuredModeRequested", None, "Secure Data Transmission Not Allowed"),
    0x3A: ("InsufficientProtection", "secureDataVerificationFailed", "Secure Data Verification Failed"),
    0x94: ("ResourceTemporarilyNotAvailable", None, "Resource Temporarily Not Available"),
}
# ISO 14229-1 has one name, a library prints it a little otherwise: revoked is said in the text of annex A.1, not in the
# name; udsoncan leaves out "Or" and "(es)".
PRINTED_OTHERWISE = {(0x57, "scapy"), (0x5B, "udsoncan"), (0x8F, "udsoncan")}


@pytest.mark.parametrize("code", list(ResponseCode))
def test_a_response_code_is_named_as_the_libraries_name_it(code):
    ours = letters(nrc_name(code))
    if code in VOTES:
        udsoncan, scapy, tshark = VOTES[code]
        assert (UDSONCAN.get(code), SCAPY.get(code)) == (udsoncan, scapy)
        assert ours == letters(tshark)
        return
    for library, names in (("udsoncan", UDSONCAN), ("scapy", SCAPY)):
        if (code, library) not in PRINTED_OTHERWISE:
            assert letters(names[code]) == ours


def test_no_library_knows_a_response_code_that_we_do_not():
    # udsoncan's 3B to 40 belong to the withdrawn security sub-layer, see above.
    theirs = {code for code in UDSONCAN if not 0x3B <= code <= 0x40 and code} | {code for code in SCAPY if code}
    assert theirs == {int(code) for code in ResponseCode}


def test_an_unknown_response_code_is_refused_by_us_though_an_oracle_calls_it_positive():
    # udsoncan 1.26.1: Response(code=0x95).positive is True. ISO 14229-1, 8.4: whatever follows 7F is a refusal.
    from udsoncan import Response

    from witnessmark.wire.uds.decode import decode
    from witnessmark.wire.uds.head import head

    assert Response(service=oracle.RoutineControl, code=0x95).positive is True
    assert head(b"\x7f\x31\x95").negative
    assert decode(b"\x7f\x31\x95").direction == "negative"


def test_services_are_named_as_the_libraries_name_them():
    scapy = {number: name for number, name in UDS.services.items() if number in set(Service)}
    # scapy's 2A lacks "By"; ISO 14229-1, 11.5 has it.
    assert scapy.pop(0x2A) == "ReadDataPeriodicIdentifier"
    assert {number: Service(number).iso_name for number in scapy} == scapy
    assert scapy.keys() | {0x2A} == {int(service) for service in Service}
    for service in Service:
        assert getattr(oracle, service.iso_name)._sid == service


def test_reports_are_named_as_the_libraries_name_them():
    udsoncan = {
        value: name for name, value in vars(oracle.ReadDTCInformation.Subfunction).items() if isinstance(value, int)
    }
    # Edition 2006 wrote Extended, OBD after Emissions-related, and a plural; the names used here are 2013's and 2020's.
    older = {0x05, 0x06, 0x0A, 0x10, 0x12, 0x13}
    assert {n: name for n, name in udsoncan.items() if n not in older} == {
        n: name for n, name in REPORT_NAMES.items() if n not in older
    }
    scapy = {n: name for n, name in UDS_RDTCI.reportTypes.items() if n and n not in older}
    assert scapy.items() <= REPORT_NAMES.items()


@pytest.mark.parametrize(
    ("service", "theirs"),
    [
        (0x10, oracle.DiagnosticSessionControl.Session),
        (0x11, oracle.ECUReset.ResetType),
        (0x28, oracle.CommunicationControl.ControlType),
        (0x29, oracle.Authentication.AuthenticationTask),
        (0x31, oracle.RoutineControl.ControlType),
        (0x85, oracle.ControlDTCSetting.SettingType),
    ],
)
def test_sub_functions_are_named_as_the_oracle_names_them(service, theirs):
    names = {value: name for name, value in vars(theirs).items() if isinstance(value, int)}
    names.pop(0, None) if service == 0x10 else None
    for number, name in names.items():
        if number in SUB_FUNCTIONS[service]:
            assert letters(sub_function_name(service, number)) == letters(name)
    assert SUB_FUNCTIONS[service].keys() == {number for number in names if number in SUB_FUNCTIONS[service]}


def test_standard_identifiers_are_named_as_the_oracle_names_them():
    for number in range(0xF180, 0xF1A0):
        if number == 0xF18F:
            continue
        theirs = DataIdentifier.name_from_id(number)
        assert letters(theirs) == letters(identifiers.identifier_name(number)) + "dataidentifier"

"""Names are total: every number has one, and enumerations and tables hold the same numbers."""

import pytest

from witnessmark.wire import identifiers
from witnessmark.wire.uds import names
from witnessmark.wire.uds.codes import ResponseCode, nrc_name
from witnessmark.wire.uds.services import WITH_SUB_FUNCTION, Service, service_name


@pytest.mark.parametrize(
    ("service", "kind"),
    [
        (0x10, names.Session),
        (0x11, names.Reset),
        (0x28, names.Communication),
        (0x31, names.Routine),
        (0x85, names.Setting),
    ],
)
def test_an_enumeration_and_the_names_of_its_service_hold_the_same_numbers(service, kind):
    assert {int(one) for one in kind} == names.SUB_FUNCTIONS[service].keys()


def test_controls_and_their_names_hold_the_same_numbers():
    assert {int(control) for control in names.Control} == names.CONTROLS.keys()


def test_every_number_has_a_name():
    for number in range(256):
        assert service_name(number)
        assert nrc_name(number)
        assert names.control_name(number)
        for service in WITH_SUB_FUNCTION:
            assert names.sub_function_name(service, number)
    assert all(identifiers.identifier_name(number) for number in range(0x10000))


def test_numbers_left_to_makers_and_suppliers_say_whose_they_are():
    # ISO 14229-1:2020, the tables of each sub-function: 40 to 5F and 60 to 7E.
    for service in (0x10, 0x11, 0x28, 0x85, 0x87):
        owners = [names.sub_function_name(service, number).split()[0] for number in (0x3F, 0x40, 0x5F, 0x60, 0x7E)]
        assert owners == ["0x3F", *["vehicleManufacturerSpecific"] * 2, *["systemSupplierSpecific"] * 2]
        assert names.sub_function_name(service, 0x7F) == "0x7F"


def test_unknown_response_codes_say_whose_range_they_are_in():
    assert nrc_name(0x15) == "0x15 ISOSAEReserved"
    assert nrc_name(0xA0) == "0xA0 reservedForSpecificConditionsNotCorrect"
    assert nrc_name(0xF5) == "0xF5 vehicleManufacturerSpecificConditionsNotCorrect"
    assert nrc_name(ResponseCode.RESPONSE_PENDING) == "requestCorrectlyReceived-ResponsePending"


def test_a_positive_answer_is_the_service_with_bit_six_set():
    # ISO 14229-1:2020, 8.4 and table 2.
    assert all(service.positive == service | 0x40 for service in Service)
    assert service_name(0x31) == "RoutineControl"
    assert service_name(0xA8) == "service 0xA8"


def test_sub_functions_that_no_oracle_names_are_named_as_remembered():
    # ISO 14229-1:2020 and, for 83, edition 2013 (from memory); the others are in tests/oracles.
    remembered = {
        0x2C: {1: "defineByIdentifier", 2: "defineByMemoryAddress", 3: "clearDynamicallyDefinedDataIdentifier"},
        0x83: {
            1: "readExtendedTimingParameterSet",
            2: "setTimingParametersToDefaultValues",
            3: "readCurrentlyActiveTimingParameters",
            4: "setTimingParametersToGivenValues",
        },
        0x86: {
            0: "stopResponseOnEvent",
            1: "onDTCStatusChange",
            3: "onChangeOfDataIdentifier",
            5: "startResponseOnEvent",
            9: "reportDTCRecordInformationOnDtcStatusChange",
        },
        0x87: {
            1: "verifyModeTransitionWithFixedParameter",
            2: "verifyModeTransitionWithSpecificParameter",
            3: "transitionMode",
        },
    }
    for service, subs in remembered.items():
        assert {number: names.sub_function_name(service, number) for number in subs} == subs


def test_security_levels_say_who_owns_them():
    # ISO 14229-1:2020, 10.4 (from memory): 43 to 5E are reserved, 5F and 60 ISO 26021-2's, 61 to 7E suppliers'.
    named = [names.sub_function_name(0x27, number) for number in (0x41, 0x42, 0x43, 0x5E, 0x5F, 0x60, 0x61, 0x7E)]
    assert named == [
        "requestSeed 0x41",
        "sendKey 0x42",
        "ISOSAEReserved 0x43",
        "ISOSAEReserved 0x5E",
        "requestSeed 0x5F of ISO 26021-2",
        "sendKey 0x60 of ISO 26021-2",
        "systemSupplierSpecific 0x61",
        "systemSupplierSpecific 0x7E",
    ]

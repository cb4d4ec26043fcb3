"""Negative response codes of ISO 14229-1:2020, annex A.1, named as the standard prints them.

Three codes are named differently by the libraries at hand: 0x38 to 0x3A. Two of three agree on the names used here (the
2020 edition's); the other names are those of the security sub-layer of ISO 15764, from which edition 2013 borrowed.
"""

from __future__ import annotations

from enum import IntEnum


class ResponseCode(IntEnum):
    """A negative response code (NRC)."""

    GENERAL_REJECT = 0x10
    SERVICE_NOT_SUPPORTED = 0x11
    SUB_FUNCTION_NOT_SUPPORTED = 0x12
    INCORRECT_MESSAGE_LENGTH_OR_INVALID_FORMAT = 0x13
    RESPONSE_TOO_LONG = 0x14
    BUSY_REPEAT_REQUEST = 0x21
    CONDITIONS_NOT_CORRECT = 0x22
    REQUEST_SEQUENCE_ERROR = 0x24
    NO_RESPONSE_FROM_SUBNET_COMPONENT = 0x25
    FAILURE_PREVENTS_EXECUTION_OF_REQUESTED_ACTION = 0x26
    REQUEST_OUT_OF_RANGE = 0x31
    SECURITY_ACCESS_DENIED = 0x33
    AUTHENTICATION_REQUIRED = 0x34
    INVALID_KEY = 0x35
    EXCEED_NUMBER_OF_ATTEMPTS = 0x36
    REQUIRED_TIME_DELAY_NOT_EXPIRED = 0x37
    SECURE_DATA_TRANSMISSION_REQUIRED = 0x38
    SECURE_DATA_TRANSMISSION_NOT_ALLOWED = 0x39
    SECURE_DATA_VERIFICATION_FAILED = 0x3A
    CERTIFICATE_VERIFICATION_FAILED_INVALID_TIME_PERIOD = 0x50
    CERTIFICATE_VERIFICATION_FAILED_INVALID_SIGNATURE = 0x51
    CERTIFICATE_VERIFICATION_FAILED_INVALID_CHAIN_OF_TRUST = 0x52
    CERTIFICATE_VERIFICATION_FAILED_INVALID_TYPE = 0x53
    CERTIFICATE_VERIFICATION_FAILED_INVALID_FORMAT = 0x54
    CERTIFICATE_VERIFICATION_FAILED_INVALID_CONTENT = 0x55
    CERTIFICATE_VERIFICATION_FAILED_INVALID_SCOPE = 0x56
    CERTIFICATE_VERIFICATION_FAILED_INVALID_CERTIFICATE = 0x57
    OWNERSHIP_VERIFICATION_FAILED = 0x58
    CHALLENGE_CALCULATION_FAILED = 0x59
    SETTING_ACCESS_RIGHTS_FAILED = 0x5A
    SESSION_KEY_CREATION_OR_DERIVATION_FAILED = 0x5B
    CONFIGURATION_DATA_USAGE_FAILED = 0x5C
    DE_AUTHENTICATION_FAILED = 0x5D
    UPLOAD_DOWNLOAD_NOT_ACCEPTED = 0x70
    TRANSFER_DATA_SUSPENDED = 0x71
    GENERAL_PROGRAMMING_FAILURE = 0x72
    WRONG_BLOCK_SEQUENCE_COUNTER = 0x73
    RESPONSE_PENDING = 0x78
    SUB_FUNCTION_NOT_SUPPORTED_IN_ACTIVE_SESSION = 0x7E
    SERVICE_NOT_SUPPORTED_IN_ACTIVE_SESSION = 0x7F
    RPM_TOO_HIGH = 0x81
    RPM_TOO_LOW = 0x82
    ENGINE_IS_RUNNING = 0x83
    ENGINE_IS_NOT_RUNNING = 0x84
    ENGINE_RUN_TIME_TOO_LOW = 0x85
    TEMPERATURE_TOO_HIGH = 0x86
    TEMPERATURE_TOO_LOW = 0x87
    VEHICLE_SPEED_TOO_HIGH = 0x88
    VEHICLE_SPEED_TOO_LOW = 0x89
    THROTTLE_PEDAL_TOO_HIGH = 0x8A
    THROTTLE_PEDAL_TOO_LOW = 0x8B
    TRANSMISSION_RANGE_NOT_IN_NEUTRAL = 0x8C
    TRANSMISSION_RANGE_NOT_IN_GEAR = 0x8D
    BRAKE_SWITCH_NOT_CLOSED = 0x8F
    SHIFTER_LEVER_NOT_IN_PARK = 0x90
    TORQUE_CONVERTER_CLUTCH_LOCKED = 0x91
    VOLTAGE_TOO_HIGH = 0x92
    VOLTAGE_TOO_LOW = 0x93
    RESOURCE_TEMPORARILY_NOT_AVAILABLE = 0x94

    @property
    def iso_name(self) -> str:
        """The name as the standard prints it, such as `conditionsNotCorrect`."""
        return _NAMES[self]


RESPONSE_PENDING = 0x78
"""requestCorrectlyReceived-ResponsePending: the answer is still being worked on; wait P2* again."""

_PRINTED_OTHERWISE = {
    0x78: "requestCorrectlyReceived-ResponsePending",
    0x8A: "throttle/PedalTooHigh",
    0x8B: "throttle/PedalTooLow",
    0x8F: "brakeSwitch(es)NotClosed",
}


def _camel(name: str) -> str:
    first, *others = name.lower().split("_")
    return first + "".join(word.capitalize() for word in others)


_NAMES = {int(code): _PRINTED_OTHERWISE.get(code) or _camel(code.name) for code in ResponseCode}


def nrc_name(code: int) -> str:
    """Name a negative response code; an unknown one is named by its number and range (annex A.1, from memory)."""
    known = _NAMES.get(code)
    if known is not None:
        return known
    if code == 0x00:
        return "0x00 positiveResponse, not allowed in a negative answer"
    if 0x95 <= code <= 0xEF:
        return f"0x{code:02X} reservedForSpecificConditionsNotCorrect"
    if 0xF0 <= code <= 0xFE:
        return f"0x{code:02X} vehicleManufacturerSpecificConditionsNotCorrect"
    return f"0x{code:02X} ISOSAEReserved"

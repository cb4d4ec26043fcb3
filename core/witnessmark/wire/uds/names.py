"""Names of sub-functions and of their like, as ISO 14229-1:2020 prints them.

`sub_function_name` answers for any service and any number; numbers that the standard leaves to makers and suppliers are
named by whom they are left to.
"""

from __future__ import annotations

from enum import IntEnum

from witnessmark.wire.uds.reports import REPORT_NAMES


class Session(IntEnum):
    """diagnosticSessionType (clause 10.2)."""

    DEFAULT = 0x01
    PROGRAMMING = 0x02
    EXTENDED = 0x03
    SAFETY_SYSTEM = 0x04


class Reset(IntEnum):
    """resetType (clause 10.3)."""

    HARD = 0x01
    KEY_OFF_ON = 0x02
    SOFT = 0x03
    ENABLE_RAPID_POWER_SHUT_DOWN = 0x04
    DISABLE_RAPID_POWER_SHUT_DOWN = 0x05


class Communication(IntEnum):
    """controlType of CommunicationControl (clause 10.5)."""

    ENABLE_RX_AND_TX = 0x00
    ENABLE_RX_AND_DISABLE_TX = 0x01
    DISABLE_RX_AND_ENABLE_TX = 0x02
    DISABLE_RX_AND_TX = 0x03
    ENABLE_RX_AND_DISABLE_TX_WITH_ENHANCED_ADDRESS_INFORMATION = 0x04
    ENABLE_RX_AND_TX_WITH_ENHANCED_ADDRESS_INFORMATION = 0x05


class Control(IntEnum):
    """inputOutputControlParameter (annex E.1)."""

    RETURN_CONTROL_TO_ECU = 0x00
    RESET_TO_DEFAULT = 0x01
    FREEZE_CURRENT_STATE = 0x02
    SHORT_TERM_ADJUSTMENT = 0x03


class Routine(IntEnum):
    """routineControlType (clause 14.2)."""

    START = 0x01
    STOP = 0x02
    RESULTS = 0x03


class Setting(IntEnum):
    """DTCSettingType (clause 10.8)."""

    ON = 0x01
    OFF = 0x02


SUB_FUNCTIONS: dict[int, dict[int, str]] = {
    0x10: {
        0x01: "defaultSession",
        0x02: "programmingSession",
        0x03: "extendedDiagnosticSession",
        0x04: "safetySystemDiagnosticSession",
    },
    0x11: {
        0x01: "hardReset",
        0x02: "keyOffOnReset",
        0x03: "softReset",
        0x04: "enableRapidPowerShutDown",
        0x05: "disableRapidPowerShutDown",
    },
    0x19: REPORT_NAMES,
    0x28: {
        0x00: "enableRxAndTx",
        0x01: "enableRxAndDisableTx",
        0x02: "disableRxAndEnableTx",
        0x03: "disableRxAndTx",
        0x04: "enableRxAndDisableTxWithEnhancedAddressInformation",
        0x05: "enableRxAndTxWithEnhancedAddressInformation",
    },
    0x29: {
        0x00: "deAuthenticate",
        0x01: "verifyCertificateUnidirectional",
        0x02: "verifyCertificateBidirectional",
        0x03: "proofOfOwnership",
        0x04: "transmitCertificate",
        0x05: "requestChallengeForAuthentication",
        0x06: "verifyProofOfOwnershipUnidirectional",
        0x07: "verifyProofOfOwnershipBidirectional",
        0x08: "authenticationConfiguration",
    },
    0x2C: {0x01: "defineByIdentifier", 0x02: "defineByMemoryAddress", 0x03: "clearDynamicallyDefinedDataIdentifier"},
    0x31: {0x01: "startRoutine", 0x02: "stopRoutine", 0x03: "requestRoutineResults"},
    0x3E: {0x00: "zeroSubFunction"},
    0x83: {
        0x01: "readExtendedTimingParameterSet",
        0x02: "setTimingParametersToDefaultValues",
        0x03: "readCurrentlyActiveTimingParameters",
        0x04: "setTimingParametersToGivenValues",
    },
    0x85: {0x01: "on", 0x02: "off"},
    0x86: {
        0x00: "stopResponseOnEvent",
        0x01: "onDTCStatusChange",
        0x02: "onTimerInterrupt",
        0x03: "onChangeOfDataIdentifier",
        0x04: "reportActivatedEvents",
        0x05: "startResponseOnEvent",
        0x06: "clearResponseOnEvent",
        0x07: "onComparisonOfValues",
        0x08: "reportMostRecentDtcOnStatusChange",
        0x09: "reportDTCRecordInformationOnDtcStatusChange",
    },
    0x87: {
        0x01: "verifyModeTransitionWithFixedParameter",
        0x02: "verifyModeTransitionWithSpecificParameter",
        0x03: "transitionMode",
    },
}

_LEFT_TO = {
    0x10: ((0x40, 0x5F, "vehicleManufacturerSpecific"), (0x60, 0x7E, "systemSupplierSpecific")),
    0x11: ((0x40, 0x5F, "vehicleManufacturerSpecific"), (0x60, 0x7E, "systemSupplierSpecific")),
    0x28: ((0x40, 0x5F, "vehicleManufacturerSpecific"), (0x60, 0x7E, "systemSupplierSpecific")),
    0x85: ((0x40, 0x5F, "vehicleManufacturerSpecific"), (0x60, 0x7E, "systemSupplierSpecific")),
    0x87: ((0x40, 0x5F, "vehicleManufacturerSpecific"), (0x60, 0x7E, "systemSupplierSpecific")),
}

CONTROLS = {
    0x00: "returnControlToECU",
    0x01: "resetToDefault",
    0x02: "freezeCurrentState",
    0x03: "shortTermAdjustment",
}


def sub_function_name(service: int, sub_function: int) -> str:
    """Name a sub-function (suppress bit taken off already); an unknown one by number and owner. Never raises."""
    known = SUB_FUNCTIONS.get(service, {}).get(sub_function)
    if known is not None:
        return known
    if service == 0x27:
        return _security_name(sub_function)
    owner = next((who for first, last, who in _LEFT_TO.get(service, ()) if first <= sub_function <= last), "")
    return f"{owner} 0x{sub_function:02X}" if owner else f"0x{sub_function:02X}"


def _security_name(sub_function: int) -> str:
    """Odd numbers ask for a seed, the even number above each sends its key (clause 10.4, from memory)."""
    if sub_function in (0x00, 0x7F) or 0x43 <= sub_function <= 0x5E:
        return f"ISOSAEReserved 0x{sub_function:02X}"
    if sub_function >= 0x61:
        return f"systemSupplierSpecific 0x{sub_function:02X}"
    name = f"requestSeed 0x{sub_function:02X}" if sub_function % 2 else f"sendKey 0x{sub_function:02X}"
    return f"{name} of ISO 26021-2" if sub_function in (0x5F, 0x60) else name


def control_name(control: int) -> str:
    """Name an inputOutputControlParameter; an unknown one by its number. Never raises."""
    return CONTROLS.get(control) or f"0x{control:02X}"

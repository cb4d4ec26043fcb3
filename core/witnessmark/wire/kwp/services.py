"""The services of ISO 14230-3, by number and by the name the standard prints, and their sub-parameters' names.

From memory, held against one library's table by a test. Headers and checksums (ISO 14230-2) are not here.
"""

from __future__ import annotations

SERVICES: dict[int, str] = {
    0x10: "startDiagnosticSession",
    0x11: "ecuReset",
    0x12: "readFreezeFrameData",
    0x13: "readDiagnosticTroubleCodes",
    0x14: "clearDiagnosticInformation",
    0x17: "readStatusOfDiagnosticTroubleCodes",
    0x18: "readDiagnosticTroubleCodesByStatus",
    0x1A: "readEcuIdentification",
    0x20: "stopDiagnosticSession",
    0x21: "readDataByLocalIdentifier",
    0x22: "readDataByCommonIdentifier",
    0x23: "readMemoryByAddress",
    0x26: "setDataRates",
    0x27: "securityAccess",
    0x28: "disableNormalMessageTransmission",
    0x29: "enableNormalMessageTransmission",
    0x2C: "dynamicallyDefineLocalIdentifier",
    0x2E: "writeDataByCommonIdentifier",
    0x2F: "inputOutputControlByCommonIdentifier",
    0x30: "inputOutputControlByLocalIdentifier",
    0x31: "startRoutineByLocalIdentifier",
    0x32: "stopRoutineByLocalIdentifier",
    0x33: "requestRoutineResultsByLocalIdentifier",
    0x34: "requestDownload",
    0x35: "requestUpload",
    0x36: "transferData",
    0x37: "requestTransferExit",
    0x38: "startRoutineByAddress",
    0x39: "stopRoutineByAddress",
    0x3A: "requestRoutineResultsByAddress",
    0x3B: "writeDataByLocalIdentifier",
    0x3D: "writeMemoryByAddress",
    0x3E: "testerPresent",
    0x80: "escCode",
    0x81: "startCommunication",
    0x82: "stopCommunication",
    0x83: "accessTimingParameters",
    0x84: "networkConfiguration",
    0x85: "controlDTCSetting",
    0x86: "responseOnEvent",
}

SESSIONS = {
    0x81: "standardSession",
    0x82: "periodicTransmissions",
    0x84: "endOfLineSystemSupplierMode",
    0x85: "ECUProgrammingMode",
    0x86: "ECUDevelopmentMode",
    0x87: "ECUAdjustmentMode",
}
"""diagnosticMode of service 10. Makers use others too; 89 is left out, because sources disagree on its name."""

TIMING_TASKS = {
    0x00: "readLimitsOfPossibleTimingParameters",
    0x01: "setTimingParametersToDefaultValues",
    0x02: "readCurrentlyActiveTimingParameters",
    0x03: "setTimingParametersToGivenValues",
}
"""timingParameterIdentifier of service 83."""

CONTROLS = {
    0x00: "returnControlToECU",
    0x01: "reportCurrentState",
    0x02: "reportIOConditions",
    0x03: "reportIOScaling",
    0x04: "resetToDefault",
    0x05: "freezeCurrentState",
    0x06: "executeControlOption",
    0x07: "shortTermAdjustment",
    0x08: "longTermAdjustment",
    0x09: "reportIOCalibrationParameters",
}
"""inputOutputControlParameter of services 2F and 30: numbered otherwise than in ISO 14229-1."""


def session_name(mode: int) -> str:
    """Name a diagnosticMode; one that the standard leaves open by its number. Never raises."""
    return SESSIONS.get(mode) or f"0x{mode:02X}"


def service_name(number: int) -> str:
    """Name a request's service; one that the standard leaves open is named by its number. Never raises."""
    return SERVICES.get(number) or f"service 0x{number:02X}"

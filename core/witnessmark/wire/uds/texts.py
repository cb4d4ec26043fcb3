"""What a parameter's value says to people, by the parameter's name.

A value flows in, a short text flows out; a parameter without an entry here is printed as hex. Nothing here raises for
any value that a layout can read.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from witnessmark.wire import dtc, identifiers
from witnessmark.wire.meaning import hex_text
from witnessmark.wire.uds.names import control_name

_GROUPS = {0xFFFFFF: "all groups", 0xFFFF33: "emissions-related systems", 0xFFFFD0: "safety-related systems"}
_ROUTINES = {0xE200: "deployLoopRoutineID", 0xFF00: "eraseMemory", 0xFF01: "checkProgrammingDependencies"}
_MESSAGES = {
    1: "normalCommunicationMessages",
    2: "networkManagementCommunicationMessages",
    3: "networkManagementCommunicationMessages and normalCommunicationMessages",
}
_FUNCTIONAL_GROUPS = {0x33: "emissions-system group", 0xD0: "safety-system group", 0xFE: "VOBD system", 0xFF: "all"}
# From memory of annex B.5; one library has the same list.
_AUTHENTICATION = {
    0x00: "requestAccepted",
    0x01: "generalReject",
    0x02: "authenticationConfigurationAPCE",
    0x03: "authenticationConfigurationACRWithAsymmetricCryptography",
    0x04: "authenticationConfigurationACRWithSymmetricCryptography",
    0x10: "deAuthenticationSuccessful",
    0x11: "certificateVerifiedOwnershipVerificationNecessary",
    0x12: "ownershipVerifiedAuthenticationComplete",
    0x13: "certificateVerified",
}
_SCALING = (
    "unSignedNumeric",
    "signedNumeric",
    "bitMappedReportedWithOutMask",
    "bitMappedReportedWithMask",
    "binaryCodedDecimal",
    "stateEncodedVariable",
    "ASCII",
    "signedFloatingPoint",
    "packet",
    "formula",
    "unit/format",
    "stateAndConnectionType",
)


def _named(names: dict[int, str], digits: int) -> Callable[[int], str]:
    def text(value: int) -> str:
        name = names.get(value)
        return f"0x{value:0{digits}X} {name}" if name else f"0x{value:0{digits}X}"

    return text


def _byte(value: int) -> str:
    return f"0x{value:02X}"


@cache  # 256 values at most, and a list of trouble codes repeats few
def _status(value: int) -> str:
    return dtc.bits_text(value, dtc.status_names(value))


@cache
def _severity(value: int) -> str:
    return dtc.bits_text(value, dtc.severity_names(value))


def _record_number(value: int) -> str:
    return "all records" if value == 0xFF else f"0x{value:02X}"


def _communication_type(value: int) -> str:
    """Bits 1-0 say which messages, bits 7-4 which subnet (annex B.1)."""
    messages = _MESSAGES.get(value & 3, "reserved")
    subnet = value >> 4
    where = {0: "", 15: ", the network it came on"}.get(subnet, f", subnet {subnet}")
    return f"0x{value:02X} {messages}{where}"


def _power_down(value: int) -> str:
    return "not available" if value == 0xFF else f"{value} s"


def _scaling(value: int) -> str:
    kind = value >> 4
    return f"{_SCALING[kind] if kind < len(_SCALING) else 'reserved'}, {value & 15} bytes"


TEXTS: dict[str, Callable[[Any], str]] = {
    "dataIdentifier": identifiers.identifier_text,
    "routineIdentifier": _named(_ROUTINES, 4),
    "inputOutputControlParameter": control_name,
    "groupOfDTC": lambda value: _GROUPS.get(value) or dtc.format_number(value),
    "DTC": dtc.format_number,
    "DTCMaskRecord": dtc.format_number,
    "statusOfDTC": _status,
    "DTCStatusMask": _status,
    "DTCStatusAvailabilityMask": _status,
    "DTCSeverity": _severity,
    "DTCSeverityMask": _severity,
    "DTCSeverityAvailabilityMask": _severity,
    "DTCFormatIdentifier": _named(dtc.FORMATS, 2),
    "DTCCount": str,
    "DTCFaultDetectionCounter": str,
    "DTCSnapshotRecordNumber": _record_number,
    "DTCStoredDataRecordNumber": _record_number,
    "DTCExtDataRecordNumber": _record_number,
    "UserDefDTCSnapshotRecordNumber": _record_number,
    "MemorySelection": _byte,
    "FunctionalGroupIdentifier": _named(_FUNCTIONAL_GROUPS, 2),
    "communicationType": _communication_type,
    "P2Server_max": lambda value: f"{value} ms",
    "P2*Server_max": lambda value: f"{value * 10} ms",
    "powerDownTime": _power_down,
    "scalingByte": _scaling,
    "authenticationReturnParameter": _named(_AUTHENTICATION, 2),
    "certificateEvaluationId": lambda value: f"0x{value:04X}",
}


def text_of(name: str, value: Any, raw: bytes) -> str:
    """Print one parameter for people."""
    written = TEXTS.get(name)
    return written(value) if written is not None else hex_text(raw)

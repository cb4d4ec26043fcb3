"""The services of ISO 14229-1:2020, table 2, by number and by the name the standard prints.

A positive answer carries the request's number with bit 6 set; 0x7F opens a negative answer (clause 8.2).
"""

from __future__ import annotations

from enum import IntEnum

NEGATIVE_RESPONSE = 0x7F
POSITIVE_OFFSET = 0x40


class Service(IntEnum):
    """A service identifier of a request (SID)."""

    DIAGNOSTIC_SESSION_CONTROL = 0x10
    ECU_RESET = 0x11
    CLEAR_DIAGNOSTIC_INFORMATION = 0x14
    READ_DTC_INFORMATION = 0x19
    READ_DATA_BY_IDENTIFIER = 0x22
    READ_MEMORY_BY_ADDRESS = 0x23
    READ_SCALING_DATA_BY_IDENTIFIER = 0x24
    SECURITY_ACCESS = 0x27
    COMMUNICATION_CONTROL = 0x28
    AUTHENTICATION = 0x29
    READ_DATA_BY_PERIODIC_IDENTIFIER = 0x2A
    DYNAMICALLY_DEFINE_DATA_IDENTIFIER = 0x2C
    WRITE_DATA_BY_IDENTIFIER = 0x2E
    INPUT_OUTPUT_CONTROL_BY_IDENTIFIER = 0x2F
    ROUTINE_CONTROL = 0x31
    REQUEST_DOWNLOAD = 0x34
    REQUEST_UPLOAD = 0x35
    TRANSFER_DATA = 0x36
    REQUEST_TRANSFER_EXIT = 0x37
    REQUEST_FILE_TRANSFER = 0x38
    WRITE_MEMORY_BY_ADDRESS = 0x3D
    TESTER_PRESENT = 0x3E
    ACCESS_TIMING_PARAMETER = 0x83
    SECURED_DATA_TRANSMISSION = 0x84
    CONTROL_DTC_SETTING = 0x85
    RESPONSE_ON_EVENT = 0x86
    LINK_CONTROL = 0x87

    @property
    def iso_name(self) -> str:
        """The name as the standard prints it, such as `DiagnosticSessionControl`."""
        return _ISO_NAMES[self]

    @property
    def positive(self) -> int:
        """The first byte of the positive answer."""
        return self + POSITIVE_OFFSET


_CAPITALS = {"ECU", "DTC"}
_ISO_NAMES = {
    service: "".join(word if word in _CAPITALS else word.capitalize() for word in service.name.split("_"))
    for service in Service
}
_BY_NUMBER = {int(service): name for service, name in _ISO_NAMES.items()}

WITH_SUB_FUNCTION = frozenset((0x10, 0x11, 0x19, 0x27, 0x28, 0x29, 0x2C, 0x31, 0x3E, 0x83, 0x85, 0x86, 0x87))
"""Services whose second byte is a sub-function with the suppress bit (ISO 14229-1, 8.2.2); 0x83 as in edition 2013."""


def service_name(number: int) -> str:
    """Name a request's service identifier; one that the standard leaves open is named by its number. Never raises."""
    return _BY_NUMBER.get(number) or f"service 0x{number:02X}"

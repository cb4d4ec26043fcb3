"""How each ISO 14229-1:2020 message is laid out behind its first byte, in construct. Importing this loads construct.

Parameters carry the standard's names. Services that a workshop does not meet (2A 2C 34-38 3D 83 84 86 87) keep their
body raw. Where editions differ the layout takes both: what edition 2006 left out is optional.
"""

from __future__ import annotations

from construct import Bytes, Int8ub, Int16ub, Int24ub, this

from witnessmark.wire.layout import Layout
from witnessmark.wire.uds import authentication_layouts, report_layouts

SUB_FUNCTION_NAMES = {
    0x10: "diagnosticSessionType",
    0x11: "resetType",
    0x19: "reportType",
    0x27: "securityAccessType",
    0x28: "controlType",
    0x29: "authenticationTask",
    0x31: "routineControlType",
    0x3E: "zeroSubFunction",
    0x85: "DTCSettingType",
}
"""What the standard calls each service's sub-function parameter."""


def _sub(service: int) -> object:
    return SUB_FUNCTION_NAMES.get(service, "subFunction") / Int8ub


_IDENTIFIER = "dataIdentifier" / Int16ub
_ROUTINE = "routineIdentifier" / Int16ub
_CONTROL = "inputOutputControlParameter" / Int8ub

_OPEN = {service: Layout(tail="body") for service in (0x2A, 0x34, 0x35, 0x36, 0x37, 0x38, 0x3D, 0x84)} | {
    service: Layout(_sub(service), tail="body") for service in (0x2C, 0x83, 0x86, 0x87)
}

REQUESTS: dict[int, Layout] = _OPEN | {
    0x10: Layout(_sub(0x10)),
    0x11: Layout(_sub(0x11)),
    0x14: Layout("groupOfDTC" / Int24ub, "MemorySelection" / Int8ub, optional=1),
    0x22: Layout(_IDENTIFIER, records=(_IDENTIFIER,)),
    0x23: Layout(
        "addressAndLengthFormatIdentifier" / Int8ub,
        "memoryAddress" / Bytes(this.addressAndLengthFormatIdentifier & 0x0F),
        "memorySize" / Bytes(this.addressAndLengthFormatIdentifier >> 4),
    ),
    0x24: Layout(_IDENTIFIER),
    0x28: Layout(_sub(0x28), "communicationType" / Int8ub, "nodeIdentificationNumber" / Int16ub, optional=2),
    0x2E: Layout(_IDENTIFIER, tail="dataRecord"),
    0x2F: Layout(_IDENTIFIER, _CONTROL, tail="controlState"),
    0x31: Layout(_sub(0x31), _ROUTINE, tail="routineControlOptionRecord"),
    0x3E: Layout(_sub(0x3E)),
    0x85: Layout(_sub(0x85), tail="DTCSettingControlOptionRecord"),
}
"""Requests by service; 0x19, 0x27 and 0x29 depend on their sub-function and are in `request_layout`."""

ANSWERS: dict[int, Layout] = _OPEN | {
    0x10: Layout(_sub(0x10), "P2Server_max" / Int16ub, "P2*Server_max" / Int16ub, optional=1),
    0x11: Layout(_sub(0x11), "powerDownTime" / Int8ub, optional=1),
    0x14: Layout(),
    0x22: Layout(_IDENTIFIER, tail="dataRecord"),
    0x23: Layout(tail="dataRecord"),
    0x24: Layout(_IDENTIFIER, "scalingByte" / Int8ub, tail="scalingByteExtension"),
    0x28: Layout(_sub(0x28)),
    0x2E: Layout(_IDENTIFIER),
    0x2F: Layout(_IDENTIFIER, _CONTROL, tail="controlState"),
    0x31: Layout(_sub(0x31), _ROUTINE, tail="routineStatusRecord"),
    0x3E: Layout(_sub(0x3E)),
    0x85: Layout(_sub(0x85)),
}
"""Positive answers by service, likewise."""

_SEED_REQUEST = Layout(_sub(0x27), tail="securityAccessDataRecord")
_KEY_REQUEST = Layout(_sub(0x27), tail="securityKey")
_SEED_ANSWER = Layout(_sub(0x27), tail="securitySeed")
_KEY_ANSWER = Layout(_sub(0x27))
_SUB_ONLY = {service: Layout(_sub(service), tail="body") for service in (0x19, 0x29)}


def request_layout(service: int, sub_function: int) -> Layout | None:
    """Give the layout of a request; None for a service that the standard does not define."""
    if service == 0x27:
        return _SEED_REQUEST if sub_function % 2 else _KEY_REQUEST
    if service == 0x19:
        return report_layouts.REQUESTS.get(sub_function) or _SUB_ONLY[service]
    if service == 0x29:
        return authentication_layouts.REQUESTS.get(sub_function) or _SUB_ONLY[service]
    return REQUESTS.get(service)


def answer_layout(service: int, sub_function: int) -> Layout | None:
    """Give the layout of a positive answer; None for a service that the standard does not define."""
    if service == 0x27:
        return _SEED_ANSWER if sub_function % 2 else _KEY_ANSWER
    if service == 0x19:
        return report_layouts.ANSWERS.get(sub_function) or _SUB_ONLY[service]
    if service == 0x29:
        return authentication_layouts.ANSWERS.get(sub_function) or _SUB_ONLY[service]
    return ANSWERS.get(service)

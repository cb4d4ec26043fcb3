"""Requests of ISO 14229-1:2020, built: named values in, bytes out. Building sends nothing.

A value out of range raises InputError that names the parameter; nothing has been sent then. `suppress` asks the control
unit to give no positive answer (suppressPosRspMsgIndicationBit, clause 8.2.2).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from witnessmark.errors import InputError
from witnessmark.wire import dtc
from witnessmark.wire.uds.layouts import SUB_FUNCTION_NAMES, request_layout
from witnessmark.wire.uds.names import Communication, Control, Reset, Routine, Session, Setting
from witnessmark.wire.uds.reports import Report
from witnessmark.wire.uds.services import Service

TESTER_PRESENT = b"\x3e\x80"
"""Keep-alive without an answer."""


def within(name: str, value: int, high: int, low: int = 0) -> int:
    """Give the value back; raise InputError naming the parameter where it is outside low to high."""
    if not low <= value <= high:
        raise InputError(f"{value} is out of range.", place=name, hint=f"give a number from {low} to {high}")
    return value


def build(service: int, values: Mapping[str, Any], *, suppress: bool = False, tail: bytes = b"") -> bytes:
    """Build a request from its parameters by their standard names, as `decode` gives them."""
    given = dict(values)
    name = SUB_FUNCTION_NAMES.get(service, "subFunction")
    sub_function = within(name, given.get(name, 0), 0x7F)
    layout = request_layout(service, sub_function)
    if layout is None:
        raise InputError(
            f"0x{service:02X} is no service of ISO 14229-1.", place="service", hint="give one that the standard names"
        )
    if name in given:
        given[name] = sub_function | (0x80 if suppress else 0)
    return bytes((service,)) + layout.build(given, tail=bytes(tail))


def measured(values: Mapping[str, Any]) -> dict[str, Any]:
    """Add the two-byte length that Authentication puts before each parameter of open length (clause 10.6)."""
    lengths = {
        "lengthOf" + name[0].upper() + name[1:]: within(f"length of {name}", len(value), 0xFFFF)
        for name, value in values.items()
        if isinstance(value, bytes) and name != "algorithmIndicator"
    }
    return {**values, **lengths}


def session(session_type: int = Session.DEFAULT, *, suppress: bool = False) -> bytes:
    """Ask for a diagnostic session (clause 10.2)."""
    return build(Service.DIAGNOSTIC_SESSION_CONTROL, {"diagnosticSessionType": session_type}, suppress=suppress)


def ecu_reset(reset_type: int = Reset.HARD, *, suppress: bool = False) -> bytes:
    """Ask for a reset (clause 10.3)."""
    return build(Service.ECU_RESET, {"resetType": reset_type}, suppress=suppress)


def tester_present(*, suppress: bool = True) -> bytes:
    """Keep the session alive (clause 10.7)."""
    return TESTER_PRESENT if suppress else b"\x3e\x00"


def request_seed(level: int, record: bytes = b"", *, suppress: bool = False) -> bytes:
    """Ask for a seed; the level is odd (clause 10.4)."""
    _parity(level, odd=True)
    return build(Service.SECURITY_ACCESS, {"securityAccessType": level}, suppress=suppress, tail=record)


def send_key(level: int, key: bytes, *, suppress: bool = False) -> bytes:
    """Send the key; the level is even, one above its seed's (clause 10.4)."""
    _parity(level, odd=False)
    return build(Service.SECURITY_ACCESS, {"securityAccessType": level}, suppress=suppress, tail=key)


def _parity(level: int, *, odd: bool) -> None:
    within("securityAccessType", level, 0x7E, 1)
    if bool(level % 2) != odd:
        raise InputError(
            f"Level 0x{level:02X} is of the wrong parity.",
            place="securityAccessType",
            hint="seeds are asked for with odd numbers, keys sent with the even number above",
        )


def communication(
    control_type: int = Communication.ENABLE_RX_AND_TX,
    communication_type: int = 0x01,
    node: int | None = None,
    *,
    suppress: bool = False,
) -> bytes:
    """Switch messages of the control unit on or off (clause 10.5); `node` goes with control types 4 and 5 alone."""
    values = {"controlType": control_type, "communicationType": within("communicationType", communication_type, 0xFF)}
    if (node is not None) != (control_type in (4, 5)):
        raise InputError(
            "A node identification number goes with enhanced address information, and only with it.",
            place="nodeIdentificationNumber",
            hint="give it for control types 4 and 5",
        )
    if node is not None:
        values["nodeIdentificationNumber"] = within("nodeIdentificationNumber", node, 0xFFFF)
    return build(Service.COMMUNICATION_CONTROL, values, suppress=suppress)


def authentication(task: int, values: Mapping[str, Any] | None = None, *, suppress: bool = False) -> bytes:
    """Build an authentication task (clause 10.6); lengths are filled in from the parameters they measure."""
    return build(Service.AUTHENTICATION, {"authenticationTask": task, **measured(values or {})}, suppress=suppress)


def clear_dtc(group: int = dtc.ALL_GROUPS, memory: int | None = None) -> bytes:
    """Clear trouble codes (clause 12.2); `memory` selects a user-defined fault memory."""
    values = {"groupOfDTC": within("groupOfDTC", group, 0xFFFFFF)}
    if memory is not None:
        values["MemorySelection"] = within("MemorySelection", memory, 0xFF)
    return build(Service.CLEAR_DIAGNOSTIC_INFORMATION, values)


def read_dtc(report: int = Report.DTC_BY_STATUS_MASK, *, suppress: bool = False, **parameters: int) -> bytes:
    """Ask for a report of trouble codes (clause 12.3).

    The report says which parameters it takes, by their standard names: `read_dtc(2, DTCStatusMask=0xFF)`,
    `read_dtc(4, DTCMaskRecord=0x523456, DTCSnapshotRecordNumber=1)`. One too many or too few raises InputError.
    """
    layout = request_layout(Service.READ_DTC_INFORMATION, within("reportType", report, 0x7F))
    assert layout is not None
    wanted = {field.name: field.sizeof() for field in layout.fields[1:]}
    if layout.tail or wanted.keys() != parameters.keys():
        raise InputError(
            f"Report 0x{report:02X} takes ({', '.join(wanted)}), not ({', '.join(parameters)}).",
            place="reportType",
            hint="give each parameter that the report takes, by name",
        )
    for name, value in parameters.items():
        within(name, value, (1 << 8 * wanted[name]) - 1)
    return build(Service.READ_DTC_INFORMATION, {"reportType": report, **parameters}, suppress=suppress)


def read_data(*identifiers: int) -> bytes:
    """Read data records by their identifiers, one or several in one request (clause 11.2)."""
    if not identifiers:
        raise InputError("No identifier to read.", place="dataIdentifier", hint="give at least one")
    asked = b"".join(_identifier(identifier).to_bytes(2, "big") for identifier in identifiers)
    return bytes((Service.READ_DATA_BY_IDENTIFIER,)) + asked


def read_memory(address: int, size: int, *, address_bytes: int = 4, size_bytes: int = 2) -> bytes:
    """Read memory by address (clause 11.3); the byte counts make addressAndLengthFormatIdentifier."""
    within("address_bytes", address_bytes, 15, 1)
    within("size_bytes", size_bytes, 15, 1)
    within("memoryAddress", address, (1 << 8 * address_bytes) - 1)
    within("memorySize", size, (1 << 8 * size_bytes) - 1)
    values = {
        "addressAndLengthFormatIdentifier": size_bytes << 4 | address_bytes,
        "memoryAddress": address.to_bytes(address_bytes, "big"),
        "memorySize": size.to_bytes(size_bytes, "big"),
    }
    return build(Service.READ_MEMORY_BY_ADDRESS, values)


def read_scaling(identifier: int) -> bytes:
    """Ask how a data record is scaled (clause 11.4)."""
    return build(Service.READ_SCALING_DATA_BY_IDENTIFIER, {"dataIdentifier": _identifier(identifier)})


def write_data(identifier: int, record: bytes) -> bytes:
    """Write a data record (clause 11.7)."""
    values = {"dataIdentifier": _identifier(identifier)}
    return build(Service.WRITE_DATA_BY_IDENTIFIER, values, tail=record)


def io_control(
    identifier: int, control: int = Control.RETURN_CONTROL_TO_ECU, state: bytes = b"", mask: bytes = b""
) -> bytes:
    """Control an input or output (clause 13.2): the state goes with short-term adjustment, the mask behind it."""
    values = {
        "dataIdentifier": _identifier(identifier),
        "inputOutputControlParameter": within("inputOutputControlParameter", control, 0xFF),
    }
    return build(Service.INPUT_OUTPUT_CONTROL_BY_IDENTIFIER, values, tail=state + mask)


def routine(control: int, identifier: int, option: bytes = b"", *, suppress: bool = False) -> bytes:
    """Start or stop a routine, or ask for its results (clause 14.2)."""
    values = {"routineControlType": control, "routineIdentifier": within("routineIdentifier", identifier, 0xFFFF)}
    return build(Service.ROUTINE_CONTROL, values, suppress=suppress, tail=option)


def start_routine(identifier: int, option: bytes = b"") -> bytes:
    """Start a routine."""
    return routine(Routine.START, identifier, option)


def stop_routine(identifier: int, option: bytes = b"") -> bytes:
    """Stop a routine."""
    return routine(Routine.STOP, identifier, option)


def routine_results(identifier: int, option: bytes = b"") -> bytes:
    """Ask for a routine's results."""
    return routine(Routine.RESULTS, identifier, option)


def dtc_setting(setting: int = Setting.ON, record: bytes = b"", *, suppress: bool = False) -> bytes:
    """Switch the storing of trouble codes on or off (clause 10.8)."""
    return build(Service.CONTROL_DTC_SETTING, {"DTCSettingType": setting}, suppress=suppress, tail=record)


def _identifier(identifier: int) -> int:
    return within("dataIdentifier", identifier, 0xFFFF)

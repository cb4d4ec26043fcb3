"""Answers of ISO 14229-1:2020, built: what a control unit says. Building sends nothing.

`positive` and `negative` are all that any service needs; the others lay out one service's positive answer. A value out
of range raises InputError that names the parameter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from witnessmark.errors import InputError
from witnessmark.wire.uds.layouts import SUB_FUNCTION_NAMES, answer_layout
from witnessmark.wire.uds.reports import Report
from witnessmark.wire.uds.requests import measured, within
from witnessmark.wire.uds.services import NEGATIVE_RESPONSE, POSITIVE_OFFSET, Service


def positive(service: int, body: bytes = b"") -> bytes:
    """Answer a service with whatever bytes belong behind its number."""
    return bytes((within("service", service, 0xBF) | POSITIVE_OFFSET,)) + body


def negative(service: int, code: int) -> bytes:
    """Refuse a service with a response code (clause 8.4)."""
    return bytes((NEGATIVE_RESPONSE, within("service", service, 0xFF), within("responseCode", code, 0xFF)))


def build(
    service: int, values: Mapping[str, Any], *, records: Sequence[Mapping[str, Any]] = (), tail: bytes = b""
) -> bytes:
    """Build a positive answer from its parameters by their standard names, as `decode` gives them."""
    name = SUB_FUNCTION_NAMES.get(service, "subFunction")
    layout = answer_layout(service, within(name, values.get(name, 0), 0x7F))
    if layout is None:
        raise InputError(
            f"0x{service:02X} is no service of ISO 14229-1.", place="service", hint="give one that the standard names"
        )
    return positive(service, layout.build(values, records=records, tail=bytes(tail)))


def session(session_type: int, p2_s: float = 0.050, p2_star_s: float = 5.0) -> bytes:
    """Answer a session request with P2 (1 ms steps) and P2* (10 ms steps), both given in seconds (clause 10.2)."""
    values = {
        "diagnosticSessionType": session_type,
        "P2Server_max": within("P2Server_max", round(p2_s * 1000), 0xFFFF),
        "P2*Server_max": within("P2*Server_max", round(p2_star_s * 100), 0xFFFF),
    }
    return build(Service.DIAGNOSTIC_SESSION_CONTROL, values)


def ecu_reset(reset_type: int, power_down_s: int | None = None) -> bytes:
    """Answer a reset; the power-down time in seconds goes with enableRapidPowerShutDown alone (clause 10.3)."""
    values = {"resetType": reset_type}
    if power_down_s is not None:
        values["powerDownTime"] = within("powerDownTime", power_down_s, 0xFF)
    return build(Service.ECU_RESET, values)


def tester_present() -> bytes:
    """Answer a tester present that wanted an answer."""
    return build(Service.TESTER_PRESENT, {"zeroSubFunction": 0})


def clear_dtc() -> bytes:
    """Answer a clearing of trouble codes."""
    return positive(Service.CLEAR_DIAGNOSTIC_INFORMATION)


def seed(level: int, value: bytes) -> bytes:
    """Give a seed (all zeros: already unlocked)."""
    return build(Service.SECURITY_ACCESS, {"securityAccessType": level}, tail=value)


def key_accepted(level: int) -> bytes:
    """Accept a key."""
    return build(Service.SECURITY_ACCESS, {"securityAccessType": level})


def communication(control_type: int) -> bytes:
    """Answer a communication control."""
    return build(Service.COMMUNICATION_CONTROL, {"controlType": control_type})


def authentication(task: int, return_value: int, values: Mapping[str, Any] | None = None) -> bytes:
    """Answer an authentication task (clause 10.6); lengths are filled in from the parameters they measure."""
    given = {"authenticationTask": task, "authenticationReturnParameter": return_value}
    return build(Service.AUTHENTICATION, {**given, **measured(values or {})})


def dtc_setting(setting: int) -> bytes:
    """Answer a switching of trouble-code storing."""
    return build(Service.CONTROL_DTC_SETTING, {"DTCSettingType": setting})


def read_data(records: Mapping[int, bytes] | Iterable[tuple[int, bytes]]) -> bytes:
    """Answer with one or several data records, in the order given (clause 11.2.3)."""
    pairs = records.items() if isinstance(records, Mapping) else records
    body = b"".join(within("dataIdentifier", number, 0xFFFF).to_bytes(2, "big") + record for number, record in pairs)
    return positive(Service.READ_DATA_BY_IDENTIFIER, body)


def write_data(identifier: int) -> bytes:
    """Answer a writing of a data record."""
    return build(Service.WRITE_DATA_BY_IDENTIFIER, {"dataIdentifier": within("dataIdentifier", identifier, 0xFFFF)})


def io_control(identifier: int, control: int, state: bytes = b"") -> bytes:
    """Answer an input or output control with the state as it is now (clause 13.2.3)."""
    values = {
        "dataIdentifier": within("dataIdentifier", identifier, 0xFFFF),
        "inputOutputControlParameter": within("inputOutputControlParameter", control, 0xFF),
    }
    return build(Service.INPUT_OUTPUT_CONTROL_BY_IDENTIFIER, values, tail=state)


def routine(control: int, identifier: int, status: bytes = b"") -> bytes:
    """Answer a routine control with its status record (clause 14.2.3)."""
    values = {"routineControlType": control, "routineIdentifier": within("routineIdentifier", identifier, 0xFFFF)}
    return build(Service.ROUTINE_CONTROL, values, tail=status)


def dtc_count(availability: int, count: int, dtc_format: int = 0x01, report: int = 0x01) -> bytes:
    """Answer how many trouble codes match (reports 01, 07, 11, 12; clause 12.3.3)."""
    values = {
        "reportType": report,
        "DTCStatusAvailabilityMask": within("DTCStatusAvailabilityMask", availability, 0xFF),
        "DTCFormatIdentifier": within("DTCFormatIdentifier", dtc_format, 0xFF),
        "DTCCount": within("DTCCount", count, 0xFFFF),
    }
    return build(Service.READ_DTC_INFORMATION, values)


def dtc_list(availability: int, codes: Iterable[tuple[int, int]], report: int = Report.DTC_BY_STATUS_MASK) -> bytes:
    """Answer with (trouble code, status) pairs (reports 02, 0A to 0F, 13, 15; clause 12.3.3)."""
    records = [
        {"DTC": within("DTC", code, 0xFFFFFF), "statusOfDTC": within("statusOfDTC", status, 0xFF)}
        for code, status in codes
    ]
    values = {
        "reportType": report,
        "DTCStatusAvailabilityMask": within("DTCStatusAvailabilityMask", availability, 0xFF),
    }
    return build(Service.READ_DTC_INFORMATION, values, records=records)


def dtc_record(report: int, code: int, status: int, record: bytes = b"") -> bytes:
    """Answer with the snapshot or extended data records of one trouble code (reports 04, 06, 10; clause 12.3.3)."""
    values = {
        "reportType": report,
        "DTC": within("DTC", code, 0xFFFFFF),
        "statusOfDTC": within("statusOfDTC", status, 0xFF),
    }
    return build(Service.READ_DTC_INFORMATION, values, tail=record)

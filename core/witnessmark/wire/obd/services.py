"""The ten services of ISO 15031-5 / SAE J1979, by number, with the names of the standard (from memory)."""

from __future__ import annotations

from enum import IntEnum


class Mode(IntEnum):
    """A service; workshops call it a mode."""

    CURRENT_DATA = 0x01
    FREEZE_FRAME = 0x02
    STORED_CODES = 0x03
    CLEAR = 0x04
    OXYGEN_SENSOR_TESTS = 0x05
    MONITOR_TESTS = 0x06
    PENDING_CODES = 0x07
    CONTROL = 0x08
    VEHICLE_INFORMATION = 0x09
    PERMANENT_CODES = 0x0A


NAMES: dict[int, str] = {
    0x01: "current powertrain diagnostic data",
    0x02: "powertrain freeze frame data",
    0x03: "emission-related diagnostic trouble codes",
    0x04: "clear/reset emission-related diagnostic information",
    0x05: "oxygen sensor monitoring test results",
    0x06: "on-board monitoring test results",
    0x07: "emission-related diagnostic trouble codes of the current or last driving cycle",
    0x08: "control of on-board system, test or component",
    0x09: "vehicle information",
    0x0A: "emission-related diagnostic trouble codes with permanent status",
}

INFORMATION_TYPES: dict[int, str] = {
    0x00: "supported information types",
    0x01: "message count of the VIN",
    0x02: "VIN",
    0x03: "message count of the calibration identifications",
    0x04: "calibration identifications",
    0x05: "message count of the calibration verification numbers",
    0x06: "calibration verification numbers",
    0x07: "message count of the in-use performance tracking",
    0x08: "in-use performance tracking, spark ignition",
    0x09: "message count of the control unit name",
    0x0A: "control unit name",
    0x0B: "in-use performance tracking, compression ignition",
}
"""Information types of service 09."""


def service_name(number: int) -> str:
    """Name a service; one that the standard leaves open is named by its number. Never raises."""
    name = NAMES.get(number)
    return f"service 0x{number:02X} ({name})" if name else f"service 0x{number:02X}"

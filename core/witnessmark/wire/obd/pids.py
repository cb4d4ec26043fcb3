"""Parameters of services 01 and 02: how many bytes, what unit, how scaled (SAE J1979, annex B; from memory).

Bytes of one parameter flow in, a number in its unit flows out. Parameters that are sets of bits, or that are not here,
stay raw; but the length of each is needed to find the next one in an answer that carries several.
"""

from __future__ import annotations

from typing import NamedTuple

from witnessmark.quantity import plain
from witnessmark.wire.meaning import hex_text


class Pid(NamedTuple):
    """One parameter: number x numerator / denominator + offset, in `unit`; or bits and groups, where `raw` is true."""

    name: str
    size: int
    unit: str = ""
    numerator: int = 1
    denominator: int = 1
    offset: int = 0
    raw: bool = False
    signed: bool = False


def _mask(first: int) -> Pid:
    return Pid(f"supported parameters {first:02X} to {min(first + 31, 0xFF):02X}", 4, raw=True)


PIDS: dict[int, Pid] = {
    0x00: _mask(0x01),
    0x01: Pid("monitor status since codes were cleared", 4, raw=True),
    0x02: Pid("trouble code that stored the freeze frame", 2, raw=True),
    0x03: Pid("fuel system status", 2, raw=True),
    0x04: Pid("calculated load value", 1, "%", 100, 255),
    0x05: Pid("engine coolant temperature", 1, "degC", offset=-40),
    0x06: Pid("short term fuel trim, bank 1", 1, "%", 100, 128, -100),
    0x07: Pid("long term fuel trim, bank 1", 1, "%", 100, 128, -100),
    0x08: Pid("short term fuel trim, bank 2", 1, "%", 100, 128, -100),
    0x09: Pid("long term fuel trim, bank 2", 1, "%", 100, 128, -100),
    0x0A: Pid("fuel pressure, gauge", 1, "kPa", 3),
    0x0B: Pid("intake manifold absolute pressure", 1, "kPa"),
    0x0C: Pid("engine speed", 2, "1/min", 1, 4),
    0x0D: Pid("vehicle speed", 1, "km/h"),
    0x0E: Pid("ignition timing advance of cylinder 1", 1, "deg", 1, 2, -64),
    0x0F: Pid("intake air temperature", 1, "degC", offset=-40),
    0x10: Pid("air flow rate", 2, "g/s", 1, 100),
    0x11: Pid("absolute throttle position", 1, "%", 100, 255),
    0x12: Pid("commanded secondary air status", 1, raw=True),
    0x13: Pid("oxygen sensors present, two banks", 1, raw=True),
    **{0x14 + n: Pid(f"oxygen sensor {n + 1}, voltage and fuel trim", 2, raw=True) for n in range(8)},
    0x1C: Pid("requirements that the vehicle is designed to", 1, raw=True),
    0x1D: Pid("oxygen sensors present, four banks", 1, raw=True),
    0x1E: Pid("auxiliary input status", 1, raw=True),
    0x1F: Pid("time since engine start", 2, "s"),
    0x20: _mask(0x21),
    0x21: Pid("distance with malfunction indicator on", 2, "km"),
    0x22: Pid("fuel rail pressure relative to manifold vacuum", 2, "kPa", 79, 1000),
    0x23: Pid("fuel rail pressure, gauge", 2, "kPa", 10),
    **{0x24 + n: Pid(f"oxygen sensor {n + 1}, ratio and voltage", 4, raw=True) for n in range(8)},
    0x2C: Pid("commanded exhaust gas recirculation", 1, "%", 100, 255),
    0x2D: Pid("exhaust gas recirculation error", 1, "%", 100, 128, -100),
    0x2E: Pid("commanded evaporative purge", 1, "%", 100, 255),
    0x2F: Pid("fuel level input", 1, "%", 100, 255),
    0x30: Pid("warm-ups since codes were cleared", 1, "count"),
    0x31: Pid("distance since codes were cleared", 2, "km"),
    0x32: Pid("evaporative system vapour pressure", 2, "Pa", 1, 4, signed=True),
    0x33: Pid("barometric pressure", 1, "kPa"),
    **{0x34 + n: Pid(f"oxygen sensor {n + 1}, ratio and current", 4, raw=True) for n in range(8)},
    **{0x3C + n: Pid(f"catalyst temperature {n + 1}", 2, "degC", 1, 10, -40) for n in range(4)},
    0x40: _mask(0x41),
    0x41: Pid("monitor status of this driving cycle", 4, raw=True),
    0x42: Pid("control module voltage", 2, "V", 1, 1000),
    0x43: Pid("absolute load value", 2, "%", 100, 255),
    0x44: Pid("commanded equivalence ratio", 2, "ratio", 2, 65536),
    0x45: Pid("relative throttle position", 1, "%", 100, 255),
    0x46: Pid("ambient air temperature", 1, "degC", offset=-40),
    0x47: Pid("absolute throttle position B", 1, "%", 100, 255),
    0x48: Pid("absolute throttle position C", 1, "%", 100, 255),
    0x49: Pid("accelerator pedal position D", 1, "%", 100, 255),
    0x4A: Pid("accelerator pedal position E", 1, "%", 100, 255),
    0x4B: Pid("accelerator pedal position F", 1, "%", 100, 255),
    0x4C: Pid("commanded throttle actuator", 1, "%", 100, 255),
    0x4D: Pid("time run with malfunction indicator on", 2, "min"),
    0x4E: Pid("time since codes were cleared", 2, "min"),
    0x4F: Pid("maximum values of ratio, voltage, current and pressure", 4, raw=True),
    0x50: Pid("maximum value of air flow rate", 4, raw=True),
    0x51: Pid("fuel type", 1, raw=True),
    0x52: Pid("alcohol fuel percentage", 1, "%", 100, 255),
    0x53: Pid("absolute evaporative system vapour pressure", 2, "kPa", 1, 200),
    0x54: Pid("evaporative system vapour pressure", 2, "Pa", signed=True),
    0x59: Pid("fuel rail pressure, absolute", 2, "kPa", 10),
    0x5A: Pid("relative accelerator pedal position", 1, "%", 100, 255),
    0x5B: Pid("hybrid battery pack remaining life", 1, "%", 100, 255),
    0x5C: Pid("engine oil temperature", 1, "degC", offset=-40),
    0x5D: Pid("fuel injection timing", 2, "deg", 1, 128, -210),
    0x5E: Pid("engine fuel rate", 2, "L/h", 1, 20),
    0x60: _mask(0x61),
    0x61: Pid("driver's demand engine torque", 1, "%", offset=-125),
    0x62: Pid("actual engine torque", 1, "%", offset=-125),
    0x63: Pid("engine reference torque", 2, "N.m"),
    0x80: _mask(0x81),
    0xA0: _mask(0xA1),
    0xA6: Pid("odometer", 4, "km", 1, 10),
    0xC0: _mask(0xC1),
    0xE0: _mask(0xE1),
}


def pid_name(number: int) -> str:
    """Name a parameter; one that is not here is named by its number. Never raises."""
    known = PIDS.get(number)
    return f"0x{number:02X} {known.name}" if known else f"0x{number:02X}"


def scale(number: int, data: bytes) -> float | None:
    """Give a parameter's value in its unit, or None where it is bits, unknown, or not as long as it should be."""
    known = PIDS.get(number)
    if known is None or known.raw or len(data) != known.size:
        return None
    plain = int.from_bytes(data, "big", signed=known.signed)
    return plain * known.numerator / known.denominator + known.offset


def pid_text(number: int, data: bytes) -> str:
    """Print a parameter's bytes for people."""
    value = scale(number, data)
    if number % 0x20 == 0 and len(data) == 4:
        return _list(supported(number, data))
    if value is None:
        return hex_text(data)
    return f"{plain(value)} {PIDS[number].unit}"


def _list(numbers: tuple[int, ...]) -> str:
    *others, last = [f"{one:02X}" for one in numbers] or ["none"]
    return f"{', '.join(others)} and {last}" if others else last


def supported(first: int, mask: bytes) -> tuple[int, ...]:
    """List the numbers that a four-byte mask says are supported: its top bit is `first` + 1, its lowest `first` + 32.

    Masks stand at 00, 20, 40 and so on, of parameters, tests and information types alike.
    """
    bits = int.from_bytes(mask, "big")
    width = len(mask) * 8
    return tuple(first + 1 + bit for bit in range(width) if bits >> (width - 1 - bit) & 1)


def mask_of(first: int, numbers: tuple[int, ...] | list[int] | set[int]) -> bytes:
    """Build the mask at `first`; numbers beyond its 32 are another mask's and are left out."""
    bits = sum(1 << 31 - (number - first - 1) for number in set(numbers) if 0 < number - first <= 32)
    return bits.to_bytes(4, "big")

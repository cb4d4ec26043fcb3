"""What the practice control unit measures, by identifier (22): the conditions that a protocol map reads.

Each value is one big-endian number; `data/map.json` says how to read it.
"""

from __future__ import annotations

from collections.abc import Callable

from witnessmark_practice.actuator import Actuator
from witnessmark_practice.hydraulics import Hydraulics
from witnessmark_practice.surroundings import Surroundings
from witnessmark_practice.wire_commands import WIRE_COMMANDS

GEARS = {"R": 1, "N": 2, "P": 3, "D": 4}


def live_data(
    now_s: float, around: Surroundings, fluid: Hydraulics, actuator: Actuator
) -> dict[int, Callable[[], bytes]]:
    """Return for each live identifier how to read it now."""
    running = actuator.active.command if actuator.active else None
    return {
        0x7001: lambda: _number(around.voltage(now_s) * 10, 1),  # 0.1 V
        0x7002: lambda: _number(around.speed_kmh, 1),  # km/h
        0x7003: lambda: _number(GEARS[around.gear], 1),
        0x7004: lambda: _number(around.ignition, 1),
        0x7005: lambda: _number(fluid.feed_bar * 100, 2),  # 0.01 bar, sensor in the reservoir
        0x7006: lambda: _number(actuator.pump_temperature(now_s) + 40, 1),  # degC + 40
        0x7007: lambda: _number(WIRE_COMMANDS.index(running) + 1 if running else 0, 1),
        0x7008: lambda: _number(fluid.level_ml >= 150, 1),  # level switch: 1 is enough
    }


def _number(value: float, size: int) -> bytes:
    return max(0, min(round(value), (1 << 8 * size) - 1)).to_bytes(size, "big")

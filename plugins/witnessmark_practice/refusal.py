"""Why the practice control unit refuses to act, each with its response code of ISO 14229-1, annex A.1."""

from __future__ import annotations

from witnessmark.wire.uds.codes import ResponseCode as Nrc
from witnessmark_practice.actuator import Actuator
from witnessmark_practice.hydraulics import Hydraulics
from witnessmark_practice.surroundings import Surroundings
from witnessmark_practice.wire_commands import WireCommand

LOWEST_V, HIGHEST_V = 11.5, 15.5
LEAST_FEED_BAR = 0.5


class Refusal(Exception):
    """The negative answer to give."""

    def __init__(self, code: Nrc) -> None:
        super().__init__(code.iso_name)
        self.code = code


def check_conditions(
    command: WireCommand, around: Surroundings, fluid: Hydraulics, actuator: Actuator, now_s: float
) -> None:
    """Refuse a start whose conditions do not hold: the first one that fails names the code."""
    voltage = around.voltage(now_s)
    reasons = (
        (not around.ignition, Nrc.CONDITIONS_NOT_CORRECT),
        (around.speed_kmh > 0, Nrc.VEHICLE_SPEED_TOO_HIGH),
        (around.gear != "P", Nrc.SHIFTER_LEVER_NOT_IN_PARK),
        (voltage < LOWEST_V, Nrc.VOLTAGE_TOO_LOW),
        (voltage > HIGHEST_V, Nrc.VOLTAGE_TOO_HIGH),
        (actuator.active is not None, Nrc.CONDITIONS_NOT_CORRECT),
        (fluid.feed_bar < LEAST_FEED_BAR, Nrc.CONDITIONS_NOT_CORRECT),
        (actuator.rests(command, now_s), Nrc.TEMPERATURE_TOO_HIGH),
    )
    for applies, code in reasons:
        if applies:
            raise Refusal(code)

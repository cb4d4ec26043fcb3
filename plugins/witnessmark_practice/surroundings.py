"""What the practice control unit finds around it: ignition, motion, gear, supply. The hands change it.

Rules that hold here: voltage is computed from who feeds the truck and what runs; after the ignition goes off the
network stays awake for AFTER_RUN_S, then the control unit is silent. All figures are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

AFTER_RUN_S = 5.0
BATTERY_V = 12.4
SUPPLIED_V = 13.6
DRAIN_V_S = 0.0008
PUMP_SAG_V = 0.9
PUMP_SAG_SUPPLIED_V = 0.3
LOW_SUPPLY_V = 10.6


@dataclass
class Surroundings:
    """The truck around its control unit, at the moment it is asked for (clock seconds)."""

    ignition: bool = False
    asleep_from_s: float = 0.0
    awake_since_s: float = 0.0
    drained_v: float = 0.0
    speed_kmh: int = 0
    gear: str = "P"
    supplied: bool = False
    weak_supply: bool = False
    pump_runs: bool = False

    def wake(self, now_s: float) -> None:
        """Switch the ignition on."""
        if not self.ignition:
            self.ignition, self.awake_since_s = True, now_s

    def sleep(self, now_s: float) -> None:
        """Switch the ignition off; the network stays awake for AFTER_RUN_S."""
        if self.ignition:
            self.drained_v = BATTERY_V - self._battery_v(now_s)
            self.ignition, self.asleep_from_s = False, now_s + AFTER_RUN_S

    def feed(self, on: bool) -> None:
        """Put the charger on, or take it off. Put on anew it also mends a weak supply."""
        self.supplied = on
        self.weak_supply = self.weak_supply and not on

    def network_awake(self, now_s: float) -> bool:
        """Whether the control unit hears anything at all."""
        return self.ignition or now_s < self.asleep_from_s

    def voltage(self, now_s: float) -> float:
        """Return the supply voltage at the control unit."""
        if self.weak_supply:
            base = LOW_SUPPLY_V
        else:
            base = SUPPLIED_V if self.supplied else self._battery_v(now_s)
        sag = PUMP_SAG_SUPPLIED_V if self.supplied else PUMP_SAG_V
        return base - (sag if self.pump_runs else 0.0)

    def _battery_v(self, now_s: float) -> float:
        awake_s = now_s - self.awake_since_s if self.ignition and not self.supplied else 0.0
        return BATTERY_V - self.drained_v - awake_s * DRAIN_V_S

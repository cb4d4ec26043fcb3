"""The brake hydraulics of the practice truck: a small model, so that pressures and volumes are computed, not typed.

Clock seconds and acts of the hands and of the control unit flow in; levels, pressures and volumes flow out. Volumes are
in mL, pressures in bar above the outside. Every constant below is invented.

The feed is a lid with compressed air over the reservoir: an air cushion of V_a = CUSHION_ML + (RESERVOIR_ML - level).

    leak and expansion    dp/dt = -p / LEAK_S - (p + 1) * q / V_a        q: all that leaves the reservoir, mL/s
    through one nipple    q_n = opening_n * (p + h_n) / R_n              h_n: head of the pump on that nipple, or 0
    a line of volume V_n  is well mixed: what leaves has the line's shares of new fluid, old fluid and air; what enters
                          has the reservoir's shares, and is air once the reservoir is dry
    washed                1 - old fluid in the lines of a hydraulic circuit / volume of those lines

Rules that hold here: fluid in the reservoir, in the lines and gone through the nipples or drawn off adds up to what was
filled in; nothing flows through a shut nipple; time never runs backwards.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

RESERVOIR_ML = 900.0
CUSHION_ML = 4000.0
LEAK_S = 1500.0
PEDAL_ML = 6.0
STEP_S = 0.02
NEW_BOILS_C, OLD_BOILS_C = 240.0, 148.0
_STILL_BAR = 1e-3


@dataclass
class Line:
    """One nipple and the line that leads to it. `opening` is 0 (shut) to 1; `head_bar` what the pump adds there."""

    circuit: str
    volume_ml: float
    resistance: float
    old_ml: float
    air_ml: float = 0.0
    opening: float = 0.0
    head_bar: float = 0.0
    collected_ml: float = 0.0
    collected_air_ml: float = 0.0

    @property
    def new_ml(self) -> float:
        return self.volume_ml - self.old_ml - self.air_ml


def make_lines() -> dict[str, Line]:
    """Return the truck's six nipples as they are after the repair: air in the new caliper and behind the new unit."""
    return {
        "front-left-outer": Line("front", 14.0, 1.0, 12.0, 2.0),
        "front-left-inner": Line("front", 12.0, 1.1, 11.0, 1.0),
        "front-right-outer": Line("front", 15.0, 1.0, 13.0, 2.0),
        "front-right-inner": Line("front", 13.0, 1.1, 12.0, 1.0),
        "rear-left": Line("rear", 20.0, 1.0, 10.0, 10.0),
        "rear-right": Line("rear", 18.0, 1.0, 16.0, 2.0),
    }


@dataclass
class Hydraulics:
    """The state at `now_s`. Call `advance` before anything is read or changed."""

    now_s: float = 0.0
    level_ml: float = 620.0
    reservoir_old_ml: float = 620.0
    feed_fitted: bool = False
    feed_bar: float = 0.0
    drawn_off_ml: float = 0.0
    filled_ml: float = 0.0
    pedal_strokes: int = 0
    emptied_ml: float = 0.0
    lines: dict[str, Line] = field(default_factory=make_lines)

    def advance(self, now_s: float) -> None:
        """Let the fluid flow until `now_s` (clock seconds); an earlier time changes nothing."""
        while now_s - self.now_s > 1e-9:
            span_s = now_s - self.now_s
            if self.flowing:
                span_s = min(span_s, STEP_S)
                self._flow(span_s)
            self.feed_bar *= math.exp(-span_s / LEAK_S)
            self.now_s = now_s if now_s - self.now_s <= span_s else self.now_s + span_s

    @property
    def flowing(self) -> bool:
        """Whether anything moves now."""
        return any(line.opening and self.feed_bar + line.head_bar > _STILL_BAR for line in self.lines.values())

    def flow_ml_s(self, nipple: str) -> float:
        """Return what flows through a nipple now, in mL/s."""
        line = self.lines[nipple]
        return line.opening * max(0.0, self.feed_bar + line.head_bar) / line.resistance

    def _flow(self, span_s: float) -> None:
        for nipple, line in self.lines.items():
            self._push(line, self.flow_ml_s(nipple) * span_s)

    def _push(self, line: Line, volume_ml: float) -> None:
        """Press `volume_ml` out of a line; as much comes in from the reservoir, air where that is dry."""
        if volume_ml <= 0:
            return
        share = min(1.0, volume_ml / line.volume_ml)
        out_old, out_air, out_new = line.old_ml * share, line.air_ml * share, line.new_ml * share
        fluid = min(out_old + out_air + out_new, self.level_ml)
        old = self.reservoir_old_ml * (fluid / self.level_ml) if self.level_ml > 0 else 0.0
        air_space = CUSHION_ML + RESERVOIR_ML - self.level_ml
        self.level_ml -= fluid
        self.reservoir_old_ml -= old
        line.old_ml += old - out_old
        line.air_ml += (out_old + out_air + out_new - fluid) - out_air
        line.collected_ml += out_old + out_new
        line.collected_air_ml += out_air
        if self.feed_fitted:
            moved = out_old + out_air + out_new
            self.feed_bar = max(0.0, (self.feed_bar + 1.0) * air_space / (air_space + moved) - 1.0)

    def refill(self, volume_ml: float) -> None:
        """Pour new fluid into the reservoir. The caller has checked that it fits and that no pressure stands on it."""
        self.level_ml += volume_ml
        self.filled_ml += volume_ml

    def draw_off(self, volume_ml: float) -> None:
        """Take fluid out of the reservoir, at most what is there."""
        volume_ml = min(volume_ml, self.level_ml)
        if self.level_ml > 0:
            self.reservoir_old_ml -= self.reservoir_old_ml * (volume_ml / self.level_ml)
        self.level_ml -= volume_ml
        self.drawn_off_ml += volume_ml

    def pedal(self) -> str:
        """Press and release the pedal once; return how it feels: `firm`, `soft` or `sinks` (a nipple is open)."""
        self.pedal_strokes += 1
        opened = [line for line in self.lines.values() if line.opening]
        for line in opened:
            self._push(line, PEDAL_ML / len(opened))
        if opened:
            return "sinks"
        return "soft" if sum(line.air_ml for line in self.lines.values()) > 3.0 or self.pedal_strokes < 3 else "firm"

    @property
    def bottle_ml(self) -> float:
        """What is in the bottle at the hose's end: all that came out of nipples since it was emptied last."""
        return sum(line.collected_ml for line in self.lines.values()) - self.emptied_ml

    def boiling_point_c(self) -> float:
        """Return the boiling point of what is in the reservoir, in degrees Celsius: old fluid boils earlier."""
        share = self.reservoir_old_ml / self.level_ml if self.level_ml > 0 else 1.0
        return NEW_BOILS_C - (NEW_BOILS_C - OLD_BOILS_C) * share

    def washed(self) -> dict[str, float]:
        """Return for each hydraulic circuit the share of its lines that no longer holds old fluid (or air), 0 to 1."""
        shares = {}
        for circuit in dict.fromkeys(line.circuit for line in self.lines.values()):
            lines = [line for line in self.lines.values() if line.circuit == circuit]
            shares[circuit] = sum(line.new_ml for line in lines) / sum(line.volume_ml for line in lines)
        return shares

    def fluid_ml(self) -> float:
        """Return all fluid there is: reservoir, lines, collected and drawn off."""
        lines = sum(line.old_ml + line.new_ml + line.collected_ml for line in self.lines.values())
        return self.level_ml + lines + self.drawn_off_ml

"""What the practice control unit's wire commands do to the hydraulics, and the true record of each run.

A start and a stop flow in with their clock seconds; pump heads on the lines flow out. Rules that hold here: one run at
a time; a run ends at its own time by itself; after each run its motor rests.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from witnessmark_practice.hydraulics import Hydraulics
from witnessmark_practice.wire_commands import GRACE_S, WireCommand

Ended = Literal["stop", "time", "session", "supply", "died"]


@dataclass
class Run:
    """One true run, in clock seconds. `limit_s` is when it ends by itself; `ended_by` is empty while it runs."""

    command: WireCommand
    start_s: float
    limit_s: float
    end_s: float | None = None
    ended_by: Ended | Literal[""] = ""


@dataclass
class Actuator:
    """The pump and the valves. `runs` is the record, oldest first."""

    hydraulics: Hydraulics
    runs: list[Run] = field(default_factory=list)
    active: Run | None = None
    rested_s: dict[str, float] = field(default_factory=dict)

    def begin(self, command: WireCommand, seconds: int | None, now_s: float) -> Run:
        """Begin to act; `seconds` as ordered, or None where the request carries none."""
        self.hydraulics.advance(now_s)
        lasts_s = command.longest_s if seconds is None else seconds + GRACE_S
        self.active = Run(command, now_s, now_s + lasts_s)
        self.runs.append(self.active)
        for nipple, head_bar in command.heads.items():
            self.hydraulics.lines[nipple].head_bar = head_bar
        return self.active

    def end(self, now_s: float, by: Ended) -> None:
        """End what acts, if anything does."""
        run = self.active
        if run is None:
            return
        self.hydraulics.advance(now_s)
        for nipple in run.command.heads:
            self.hydraulics.lines[nipple].head_bar = 0.0
        run.end_s, run.ended_by = now_s, by
        self.rested_s[run.command.motor] = now_s + run.command.cool_down_s
        self.active = None

    def rests(self, command: WireCommand, now_s: float) -> bool:
        """Whether the motor of a command is still cooling down."""
        return now_s < self.rested_s.get(command.motor, 0.0)

    def pump_temperature(self, now_s: float) -> int:
        """Return the pump's temperature in degC: hot while it runs and falling while it rests."""
        if self.active and self.active.command.motor == "pump":
            return min(110, 60 + round(2 * (now_s - self.active.start_s)))
        rest_s = self.rested_s.get("pump", 0.0) - now_s
        return 40 if rest_s <= 0 else 60 + round(2 * rest_s)

    def last(self, command: WireCommand) -> Run | None:
        """Return the latest run of a command."""
        return next((run for run in reversed(self.runs) if run.command is command), None)

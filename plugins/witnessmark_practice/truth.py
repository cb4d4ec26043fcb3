"""The practice truck's own record of what truly happened, for comparing with what the tool printed.

A truck flows in, plain JSON values flow out. Times are clock seconds since the truck began (`..._s`) and nanoseconds on
the practice clock (`..._mono_ns`, `..._wall_ns`, as text); what has not ended yet is null.
"""

from __future__ import annotations

from typing import Any

from witnessmark.clock import Stamp
from witnessmark_practice.vehicle import Truck


def truth(truck: Truck, origin: Stamp, rate: int) -> dict[str, Any]:
    """Return the record at `truck.now_s`."""
    fluid = truck.fluid
    return {
        "rate": rate,
        "now_s": truck.now_s,
        "runs": [
            {"wire_command": run.command.id, "ended_by": run.ended_by}
            | _span("start", run.start_s, origin)
            | _span("end", run.end_s, origin)
            for run in truck.unit.actuator.runs
        ],
        "openings": [
            {"nipple": one.nipple, "torque": one.torque}
            | _span("opened", one.opened_s, origin)
            | _span("closed", one.closed_s, origin)
            for one in truck.openings
        ],
        "requests": [
            {"at_s": heard.at_s, "payload": heard.payload.hex().upper(), "functional": heard.functional}
            for node in truck.nodes
            for heard in node.requests
        ],
        "washed": {circuit: round(share, 4) for circuit, share in fluid.washed().items()},
        "air_ml": {name: round(line.air_ml, 2) for name, line in fluid.lines.items()},
        "collected_ml": {name: round(line.collected_ml, 2) for name, line in fluid.lines.items()},
        "level_ml": round(fluid.level_ml, 2),
        "filled_ml": round(fluid.filled_ml, 2),
        "drawn_off_ml": round(fluid.drawn_off_ml, 2),
        "feed_bar": round(fluid.feed_bar, 4),
        "feed_fitted": fluid.feed_fitted,
        "pedal_strokes": fluid.pedal_strokes,
        "codes": {f"{code:06X}": f"{status:02X}" for code, status in truck.unit.codes.status.items() if status},
        "session": truck.unit.session,
        "remarks": [{"at_s": at_s, "text": text} for at_s, text in truck.remarks],
    }


def _span(name: str, at_s: float | None, origin: Stamp) -> dict[str, Any]:
    if at_s is None:
        return {f"{name}_s": None, f"{name}_mono_ns": None, f"{name}_wall_ns": None}
    since_ns = round(at_s * 1e9)
    return {
        f"{name}_s": at_s,
        f"{name}_mono_ns": str(origin.mono_ns + since_ns),
        f"{name}_wall_ns": str(origin.wall_ns + since_ns),
    }

"""The words by which a procedure tells the audit what a step is about.

`AFFECTS` are the words of `Step.affects`, `READINGS` those of `Step.what`, each with its meaning in a line. A word of
one's own begins with `x-`: the audit's own questions leave it alone, a plugin's may use it.
"""

from __future__ import annotations

AFFECTS: dict[str, str] = {
    "fluid-grade": "the container's grade is read off; what was said is the grade, like DOT 4",
    "fluid-in-vehicle": "what is in the vehicle is read off its cap or label, or tested: a grade, or not known",
    "fluid-class": "the container's class is read off; what was said is the class, like class 6",
    "made-safe": "the vehicle is safe to work on: supports, high voltage, parking brake, 12 V supply",
    "wake": "the vehicle is woken",
    "service-mode-on": "a service mode is entered",
    "service-mode-off": "a service mode is left",
    "empty": "the reservoir is emptied",
    "refill": "the reservoir is filled",
    "feed-on": "the feed adapter is fitted to the reservoir",
    "pressurise": "the feed is put under pressure, or its pressure is restored",
    "depressurise": "the feed's pressure is let off",
    "feed-off": "the feed adapter is taken off the reservoir",
    "closed": "the nipple is closed: the touch of this step says so",
    "clear": "the fluid ran clear and without bubbles",
    "torqued": "the nipple is torqued",
    "capped": "the nipple's cap is on",
    "pedal-pumped": "the pedal is pumped until firm",
    "level-set": "the level is set",
    "leak-check": "looked for leaks with the pedal held",
    "pedal-check": "the pedal is firm and holds",
    "road-test": "the vehicle was driven and braked",
    "wheels-torqued": "the wheels are torqued in their pattern",
    "refitted": "what was taken off is back on",
    "access-clear": "what must stay accessible is accessible",
    "codes-cleared": "the trouble codes are cleared, with the maker's own means: nothing here ever does that",
    "waste": "the old fluid is put away as waste",
}

OPEN_LAY_S = 2 * 60
"""How long a job may lie with a nipple open until its reservoir is looked at: a choice of this project, no source."""

VEHICLE_NUMBER = "vehicle number"
"""The condition by which the vehicle's own number is held to the one that was typed."""

UNDONE_BY = {"service-mode-on": ("service-mode-off",), "made-safe": ("wheels-torqued", "road-test")}
"""What a step makes safe to open, and the words of the steps that undo it."""

FINAL_CHECKS = ("leak-check", "pedal-check", "road-test")
"""Words of steps that only look, when the work is done: they mend nothing."""

READINGS: dict[str, str] = {
    "feed-pressure": "pressure",
    "stored-pressure": "pressure",
    "vacuum": "pressure",
    "level": "",
    "torque": "torque",
    "volume": "volume",
    "volume-removed": "volume",
    "volume-in": "volume",
    "volume-drawn": "volume",
    "voltage": "voltage",
    "boiling-point": "temperature",
    "water": "share",
    "container-age": "time",
    "wheel-torque": "torque",
    "waste": "volume",
}
"""Each reading's dimension (empty: any). `stored-pressure` is what a unit still holds before a nipple opens, `vacuum`
what a device draws with at one. `volume` ran through a nipple, `volume-removed` was taken out of the reservoir
before, `volume-in` was filled in, `volume-drawn` was drawn off at the end to set the level; `waste` is the old fluid as
it was put away."""

LATER_WORDS = ("stored-pressure", "vacuum")
"""Readings that may have been anything in a copy kept before they were words."""

DIMENSIONS: dict[str, tuple[str, ...]] = {
    "pressure": ("bar", "kPa", "MPa", "psi", "inHg"),
    "time": ("s", "min", "h", "d"),
    "torque": ("N.m", "lbf.ft", "lbf.in"),
    "volume": ("mL", "L"),
    "voltage": ("V",),
    "temperature": ("degC", "degF"),
    "share": ("%",),
    "length": ("mm", "cm", "m", "in", "ft"),
}
"""The units of each dimension, out of `quantity.UNITS`."""

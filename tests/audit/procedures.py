"""The truck's procedure with everything a whole job asks for: fluid, volumes, torque, checks, service mode."""

from __future__ import annotations

from tests.audit.jobs import Job, edit

from witnessmark.procedure.model import Procedure

KEYS = """
fluid_class = "class 6"
container_age = "30 d"
reservoir = "500 mL"
balance_tolerance = "30 mL"
pressure_fall = "0.3 bar"
voltage = { low = "11.5 V", high = "15.0 V" }
voltage_gap = "10 s"
codes_set_by_work = ["C1B41-54"]
"""

STEPS = """
[[steps_before]]
id = "safe"
text = "Set supports"
affects = "made-safe"

[[steps_before]]
id = "service-on"
text = "Enter the service mode"
affects = "service-mode-on"

[[steps_before]]
id = "feed-on"
text = "Fit the feed"
affects = "feed-on"

[[steps_after_each_pass]]
id = "clear"
text = "Did it run clear?"
act = "check"
affects = "clear"

[[steps_after_each_pass]]
id = "torque"
text = "Torque the nipple"
act = "read"
what = "torque"
unit = "N.m"

[[steps_after_each_pass]]
id = "cap"
text = "Cap on"
affects = "capped"

[[steps_after]]
id = "pump"
text = "Pump the pedal"
affects = "pedal-pumped"

[[steps_after]]
id = "level"
text = "Read the level"
act = "read"
what = "level"
unit = "mL"
limit = { low = "400 mL", high = "600 mL" }

[[steps_after]]
id = "leaks"
text = "Look for leaks"
act = "check"
affects = "leak-check"

[[steps_after]]
id = "road"
text = "Road test"
affects = "road-test"

[[steps_after]]
id = "wheels"
text = "Torque the wheels"
act = "read"
what = "wheel-torque"
unit = "N.m"
limit = { low = "170 N.m", high = "190 N.m" }

[[steps_after]]
id = "refit"
text = "Everything is back on"
act = "check"
affects = "refitted"

[[steps_after]]
id = "service-off"
text = "Leave the service mode"
affects = "service-mode-off"

"""

WHOLE: Procedure = edit(
    ("pressure_limit =", f"{KEYS}\npressure_limit ="),
    ("[pump]", f"{STEPS}[pump]"),
    ('nipples = ["fl"]', 'nipples = ["fl"]\nvolume = { low = "100 mL", high = "200 mL" }'),
)


def whole(*, scope: str = "nipples fl") -> Job:
    """Return a job of the whole procedure, by default with the one visit that runs no wire command: p4, front left."""
    return Job(WHOLE, scope=scope)


def visited() -> Job:
    """Return a whole job whose one nipple was opened at 100 s and closed at 130 s."""
    return whole().open("fl", "p4", 100).close("fl", 130, "p4")

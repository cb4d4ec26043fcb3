"""The truck's procedure with everything a whole job asks for: fluid, volumes, torque, checks, service mode."""

from __future__ import annotations

from collections.abc import Callable

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


def complete(*besides: tuple[float, Callable[[Job, float], object]]) -> Job:
    """Return a released job of the whole procedure in which all was done and recorded as it should be, and more."""
    vin = "1M8GDM9AXKP042788"
    tool = {"instrument": "gauge 3", "extra": {"calibrated_until": "2026-01-31"}}
    job = Job(WHOLE, vehicle={"vin": vin}, besides=besides)
    job.exchange("identification", "22F190", 1, "62F190" + vin.encode().hex().upper()).scan("before", ["C1234-56"], 2)
    job.step("grade", 5, "fluid-grade", answer="DOT 4").step("class", 10, "fluid-class", answer="class 6")
    job.read("container-age", "3 d", 15).step("safe", 20, "made-safe").step("service-on", 25, "service-mode-on")
    job.read("level", "500 mL", 30).read("volume-removed", "300 mL", 35)
    job.read("volume-in", "1.1 L", 40, affects="refill").step("feed-on", 45, "feed-on").pressurise(50)
    for index, one in enumerate(job.case().plan):
        (nipple,) = one.nipples
        at = 100.0 + 100 * index
        job.read("feed-pressure", "2.0 bar", at - 5, pass_id=one.id, **tool).open(nipple, one.id, at)
        if one.wire_command:
            job.condition("voltage", "12.6 V", at + 3, pass_id=one.id).run(one.id, at + 4, at + 24)
            job.condition("voltage", "12.1 V", at + 10).condition("voltage", "12.0 V", at + 18)
        job.step("clear", at + 28, "clear", pass_id=one.id, nipple=nipple).close(nipple, at + 33, one.id)
        job.read("volume", "120 mL", at + 38, pass_id=one.id, nipple=nipple)
        job.read("torque", "9 N.m", at + 43, step="torque", pass_id=one.id, nipple=nipple, **tool)
        job.step("cap", at + 48, "capped", pass_id=one.id, nipple=nipple)
    job.read("feed-pressure", "1.9 bar", 600, **tool).depressurise(610).step("off", 620, "feed-off")
    job.step("pump", 630, "pedal-pumped").read("volume-drawn", "300 mL", 640).read("level", "510 mL", 650, step="level")
    job.step("leaks", 660, "leak-check").read("wheel-torque", "180 N.m", 670, step="wheels", **tool)
    job.step("refit", 680, "refitted").step("service-off", 690, "service-mode-off").scan("after", ["C1B41-54"], 700)
    job.step("road", 900, "road-test").state("finished", 910)
    return job.state("released", 920, by="person:l-heron")

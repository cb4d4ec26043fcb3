"""Jobs of many entries, each of a shape of its own, as long as asked: for what must not take longer than it is long.

A number of rounds over the truck's four nipples flows in, the entries of a whole job flow out. `SHAPES` names them all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import msgspec
from tests.audit.jobs import Job
from tests.audit.procedures import WHOLE

from witnessmark.journal import bodies
from witnessmark.journal.entry import Entry
from witnessmark.procedure.model import Procedure

VIN = "1M8GDM9AXKP042788"
TOOL = {"instrument": "gauge 3", "extra": {"calibrated_until": "2026-01-31"}}
LOST = 7
"""Of so many runs nobody saw one end, in a job where that happened."""


@dataclass(frozen=True)
class Shape:
    """What there is much of in a job.

    `planned`: each round has passes of its own, else the same four are done again and again. `samples`: readings of
    pressure and of voltage in each visit. `let_off`: the feed is let off after each visit and put on again before the
    next. `lost`: nobody saw some runs end. `amended`: each torque is corrected. `disturbed`: the program is started
    again, the machine sleeps, the link is lost.
    `unopened`: no nipple is said to be opened, though it was called for.
    """

    planned: bool = True
    grade: bodies.Grade = "sent"
    samples: int = 4
    let_off: bool = False
    lost: bool = False
    amended: bool = False
    disturbed: bool = False
    unopened: bool = False
    together: bool = False


def build(shape: Shape, rounds: int) -> tuple[Entry, ...]:
    """Return the entries of a finished and released job of that shape."""
    procedure = _of_rounds(rounds) if shape.planned else WHOLE
    job = Job(procedure, vehicle={"vin": VIN}, grade=shape.grade)
    _before(job)
    plan = job.case().plan if shape.planned else job.case().plan * rounds
    at = 100.0
    for number, one in enumerate(plan):
        _visit(job, shape, one.id, number, at)
        at += 100
    _after(job, at)
    return job.entries()


def _of_rounds(rounds: int) -> Procedure:
    passes = (msgspec.structs.replace(one, id=f"{one.id}-{number}") for number in range(rounds) for one in WHOLE.passes)
    return msgspec.structs.replace(WHOLE, passes=tuple(passes))


def _before(job: Job) -> None:
    answer = "62F190" + VIN.encode().hex().upper()
    job.exchange("identification", "22F190", 1, answer).scan("before", ["C1234-56"], 2)
    job.step("grade", 5, "fluid-grade", answer="DOT 4").step("class", 10, "fluid-class", answer="class 6")
    job.read("container-age", "3 d", 15).step("safe", 20, "made-safe").step("service-on", 25, "service-mode-on")
    job.read("level", "500 mL", 30).read("volume-removed", "300 mL", 35)
    job.read("volume-in", "1.1 L", 40, affects="refill").step("feed-on", 45, "feed-on").pressurise(50)


def _visit(job: Job, shape: Shape, name: str, number: int, at: float) -> None:
    one = job.passes[name]
    (nipple,) = one.nipples
    if shape.let_off:
        job.pressurise(at - 10)
    if shape.disturbed and number % 3 == 0:
        job.restart().sleep(5).event("lost", at - 8).event("back", at - 7)
    job.read("feed-pressure", "2.0 bar", at - 5, pass_id=name, **TOOL)
    if shape.unopened:
        job.step("cue-given", at, pass_id=name, nipple=nipple)
    else:
        job.open(nipple, name, at)
    for sample in range(shape.samples if one.wire_command else 0):
        job.condition("voltage", "12.6 V", at + 1 + sample / shape.samples, pass_id=name)
        job.read("feed-pressure", "1.9 bar", at + 2 + sample / shape.samples, pass_id=name, **TOOL)
    if one.wire_command:
        _run(job, shape, name, number, at)
    job.step("clear", at + 28, "clear", pass_id=name, nipple=nipple)
    if not shape.unopened:
        job.close(nipple, at + 33, name)
    job.read("volume", "120 mL", at + 38, pass_id=name, nipple=nipple)
    job.read("torque", "9 N.m", at + 43, step="torque", pass_id=name, nipple=nipple, **TOOL)
    if shape.amended:
        instead = {"amount": {"unit": "N.m", "value": "9.5"}}
        body = {"instead": instead, "reason": "read wrongly", "target": job.last()}
        job.add("amendment", body, at + 45, by="person:l-heron")
    job.step("cap", at + 48, "capped", pass_id=name, nipple=nipple)
    if number % 4 == 3:
        job.read("volume-in", "480 mL", at + 60, affects="refill")
    if shape.let_off:
        job.depressurise(at + 70)


def _run(job: Job, shape: Shape, name: str, number: int, at: float) -> None:
    if shape.lost and number % LOST == 0:
        job.run(name, at + 4, None)
        job.interrupted(job.last() - 1, at + 20)
        return
    job.run(name, at + 4, at + 24)
    for sample in range(shape.samples):
        job.condition("voltage", "12.1 V", at + 6 + 16 * sample / shape.samples)


def _after(job: Job, at: float) -> None:
    job.read("feed-pressure", "1.9 bar", at, **TOOL).depressurise(at + 10).step("off", at + 20, "feed-off")
    job.step("pump", at + 30, "pedal-pumped").read("volume-drawn", "300 mL", at + 40)
    job.read("level", "510 mL", at + 50, step="level").step("leaks", at + 60, "leak-check")
    job.read("wheel-torque", "180 N.m", at + 70, step="wheels", **TOOL).step("refit", at + 80, "refitted")
    job.step("service-off", at + 90, "service-mode-off").scan("after", ["C1B41-54"], at + 100)
    job.step("road", at + 300, "road-test").state("finished", at + 310)
    job.state("released", at + 320, by="person:l-heron")


SHAPES: dict[str, Callable[[int], tuple[Entry, ...]]] = {
    name: partial(build, shape)
    for name, shape in {
        "each planned pass once": Shape(),
        "the same passes again and again": Shape(planned=False),
        "many samples": Shape(samples=20),
        "runs told by a person": Shape(grade="told"),
        "runs of another tester": Shape(grade="heard", planned=False),
        "the feed let off after each visit": Shape(let_off=True),
        "ends that nobody saw": Shape(planned=False, lost=True),
        "a correction at each visit": Shape(amended=True, samples=1),
        "clocks and link disturbed": Shape(disturbed=True),
        "called for and not said to be opened": Shape(unopened=True),
    }.items()
}
"""Every shape by what there is much of; called with a number of rounds it gives the entries."""

"""Question 17, the pump's running times: each of its answers from a small timeline."""

from __future__ import annotations

from typing import Any

import pytest
from tests.audit.jobs import MAP, Job, clean, edit
from tests.audit.shipped import ask

from witnessmark.procedure.model import Procedure

WINDOW = edit(('rest = "20 s"', 'rest = "20 s"\non_time = "50 s"\nwindow = "120 s"'))
NO_PUMP = edit(('[pump]\nlongest_run = "30 s"\nrest = "20 s"', ""))


def learned(longest_s: int = 10, cool_down_s: int = 31, **observed: object) -> dict[str, Any]:
    """The map with a pump that was learned: seen to run 4.2 to 10.4 s, and to start again after 30.6 s."""
    seen = {"runs": 3, "ended": 3, "shortest_ms": 4200, "longest_ms": 10_400, "rest_ms": 30_600} | observed
    pump = MAP["wire_commands"][0] | {"origin": "learned", "observed": seen}
    return MAP | {"wire_commands": [pump | {"longest_s": longest_s, "cool_down_s": cool_down_s}]}


def job(**more: object) -> Job:
    return Job(scope="nipples rr,rl,fr", **more)  # type: ignore[arg-type]


def one(**more: object) -> Job:
    return Job(scope="nipples rr", **more)  # type: ignore[arg-type]


def two(**more: object) -> Job:
    return Job(scope="nipples rr,rl", **more)  # type: ignore[arg-type]


def told_late(u: float) -> Job:
    """Return two runs that were told, the first of them after the second."""
    told = two(grade="told", u=u).run("p2", 64, 84)
    return told.run("p1", 10, 30)


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (two().run("p1", 10, 30).run("p2", 60, 80), "met", "30.0 s of rest after p1"),
        (two().run("p1", 10, 40).run("p2", 100, 120), "met", "at most 30.0 s"),
        (two().run("p1", 10, 40), "no proof", "no entry of a run of pump"),
        (job().run("p1", 10, 41), "not met", "ran 31.0 s; at most 30.0 s allowed"),
        (job().run("p1", 10, 30).run("p2", 59, 79), "not met", "29.0 s of rest after p1; at least 30.0 s asked"),
        (two(protocol_map=None).run("p1", 10, 30).run("p2", 50, 70), "met", "at least 20.0 s"),
        (job(protocol_map=None).run("p1", 10, 30).run("p2", 49, 69), "not met", "at least 20.0 s"),
        (
            job().run("p1", 10, 18, result="unknown", stop="unknown", stop_answer="silence"),
            "no proof",
            "at least 8.0 s;",
        ),
        (job().run("p1", 10, None, answer="silence"), "no proof", "nothing says"),
        (job(), "no proof", "no entry"),
        (Job(NO_PUMP, scope="nipples rr"), "no proof", "no entry of a run"),
        (told_late(u=1), "met", "30.0 s"),
        (told_late(u=200), "no proof", "of rest after"),
        (job(grade="told").run("p1", 10, 30).run("p2", 61, 81), "no proof", "29.0 to 33.0 s of rest"),
        (Job(WINDOW).run("p1", 10, 30).run("p2", 60, 80).run("p3", 110, 130), "not met", "60.0 s within 120 s"),
        (Job(WINDOW).run("p1", 10, 30).run("p2", 60, 80).run("p3", 180, 200), "met", "40.0 s within 120 s"),
        (Job(NO_PUMP, protocol_map=None).run("p1", 10, 30), "does not apply", "limits"),
        (Job(NO_PUMP, protocol_map=MAP).run("p1", 10, 71), "not met", "at most 60.0 s"),
        # Ordered to last as long as is allowed, and known to have ended when the stop was answered, 20 ms later.
        (one().run("p1", 10, 40.02), "met", "at most 30.0 s allowed, and 0.1 s for the stop to be answered"),
        (one().run("p1", 10, 40.1), "met", "ran 30.1 s"),
        (one().run("p1", 10, 40.2), "not met", "ran 30.2 s"),
        (one(grade="heard").run("p1", 10, 40.1), "met", "ran 30.1 s"),
        (one(grade="told").run("p1", 10, 40.1), "no proof", "28.1 to 32.1 s"),
        # What was only seen of a learned one is nobody's limit: the procedure's holds, and else there is no proof.
        (one(protocol_map=learned()).run("p1", 10, 20.05), "met", "at most 30.0 s"),
        (one(protocol_map=learned()).run("p1", 10, 36), "met", "at most 30.0 s"),
        (
            Job(NO_PUMP, scope="nipples rr", protocol_map=learned()).run("p1", 10, 20.06),
            "no proof",
            "ran 10.1 s; nobody gave a limit, other runs of it were seen up to 10.0 s",
        ),
        (Job(NO_PUMP, scope="nipples rr", protocol_map=learned(9)).run("p1", 10, 18), "met", "at most 9.0 s"),
        (Job(NO_PUMP, scope="nipples rr", protocol_map=learned(9)).run("p1", 10, 20), "not met", "at most 9.0 s"),
        (
            Job(NO_PUMP, scope="nipples rr", protocol_map=learned(5, seconds=[4, 5])).run("p1", 10, 15.05),
            "no proof",
            "up to 5.0 s",
        ),
        (two(protocol_map=learned()).run("p1", 10, 20).run("p2", 45, 55), "met", "at least 20.0 s asked"),
        (
            Job(NO_PUMP, scope="nipples rr,rl", protocol_map=learned(9)).run("p1", 10, 18).run("p2", 60, 68),
            "no proof",
            "42.0 s of rest after p1; nobody gave a limit, it was seen to start again after 31.0 s",
        ),
        (
            Job(NO_PUMP, scope="nipples rr,rl", protocol_map=learned(9, 60)).run("p1", 10, 18).run("p2", 60, 68),
            "not met",
            "at least 60.0 s asked",
        ),
        (
            Job(NO_PUMP, scope="nipples rr,rl", protocol_map=learned(9, 45, rest_ms=None))
            .run("p1", 10, 18)
            .run("p2", 70, 78),
            "met",
            "",
        ),
        (Job(scope="nipples fl"), "does not apply", "no pass"),
        (clean(), "met", ""),
    ],
)
def test_pump_rest(job: Job, answer: str, text: str) -> None:
    finding = ask(17, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding


VALVE = edit(
    ('id = "p2"\nnipples = ["rl"]\nwire_command = "pump"', 'id = "p2"\nnipples = ["rl"]\nwire_command = "valve"'),
    ('rest = "20 s"', 'rest = "20 s"\non_time = "50 s"\nwindow = "120 s"\nwire_commands = ["pump"]'),
)
"""The second pass holds a valve open; the procedure says that its pump's limits are those of the pump."""
EVERY = edit(
    ('id = "p2"\nnipples = ["rl"]\nwire_command = "pump"', 'id = "p2"\nnipples = ["rl"]\nwire_command = "valve"')
)
"""The same with nothing said of which wire commands work the pump."""


def three(procedure: Procedure) -> Job:
    return Job(procedure, scope="nipples rr,rl,fr", protocol_map=None)


@pytest.mark.parametrize(
    ("job", "answer", "text"),
    [
        (three(EVERY).run("p1", 10, 30).run("p2", 31, 51).run("p3", 90, 110), "not met", "1.0 s of rest after p1"),
        (three(VALVE).run("p1", 10, 30).run("p2", 31, 51).run("p3", 90, 110), "met", ""),
        (three(VALVE).run("p1", 10, 30).run("p2", 31, 75).run("p3", 90, 110), "met", ""),
        (three(EVERY).run("p1", 10, 30).run("p2", 60, 104).run("p3", 130, 150), "not met", "ran 44.0 s"),
        # The rest is the pump's, whatever ran between.
        (three(VALVE).run("p1", 10, 30).run("p2", 31, 35).run("p3", 45, 65), "not met", "15.0 s of rest after p1"),
        (three(VALVE).run("p1", 10, 41).run("p2", 42, 62).run("p3", 90, 110), "not met", "ran 31.0 s"),
        # The valve's time is no time of the pump within its window, and the pump's is.
        (three(VALVE).run("p1", 10, 30).run("p2", 31, 61).run("p3", 70, 90), "met", "40.0 s within 120 s"),
        (Job(VALVE, scope="nipples rl", protocol_map=None).run("p2", 10, 75), "does not apply", "limits"),
        # One that is in none of the passes may have been any: the limits hold.
        (three(VALVE).run("p1", 10, 30).run("p2", 31, 51, wire_command="other").run("p3", 90, 110), "not met", "1.0 s"),
    ],
)
def test_limits_on_the_pump_hold_for_the_wire_commands_that_work_it(job: Job, answer: str, text: str) -> None:
    finding = ask(17, job)
    shown = finding.text + "".join(one.text for one in finding.details)
    assert (finding.answer, text in shown) == (answer, True), finding

"""How the vehicle is woken stands on the screen at its step and on silence, in every kind of job; nobody improvises."""

from __future__ import annotations

import pytest
from tests.job.bus import ListeningLink
from tests.job.stand import PROCEDURE, Stand

WAKE = """
[wake]
how = "Door open and shut once, then the start button without the pedal."
energises = "The whole network; the unit may build up pressure"
source = "invented"
[[steps_before]]
id = "wake"
text = "Wake it as the wake line says"
affects = "wake"
[[steps_before]]
id = "number"
text = "The number of the vehicle"
act = "identify"
[[passes]]
"""
WOKEN = PROCEDURE.replace("[[passes]]", WAKE.removeprefix("\n").removesuffix("\n"), 1)
LINE = (
    "Only so: Door open and shut once, then the start button without the pedal "
    "(this energises: The whole network; the unit may build up pressure; source: invented)."
)
HANDS = "First every nipple shut and hands off. Then only so: "


def stand(grade: str, procedure: str = WOKEN) -> Stand:
    bus = ListeningLink() if grade == "heard" else None
    one = (
        Stand(procedure=procedure, grade=grade, bus=bus) if bus is not None else Stand(procedure=procedure, grade=grade)
    )
    if bus is not None:
        bus.clock = one.clock
    return one


@pytest.mark.parametrize("grade", ["sent", "told", "heard"])
def test_the_step_that_wakes_the_vehicle_says_how(grade: str) -> None:
    one = stand(grade)
    while one.view.get("step") != "wake":
        assert LINE not in one.view["text"]
        one.follow()
    assert one.view["text"] == f"Wake it as the wake line says. {LINE}"
    one.close()


@pytest.mark.parametrize("grade", ["told", "heard"])
def test_where_another_tester_asks_it_stands_beside_what_the_tester_is_to_read_and_to_run(grade: str) -> None:
    one = stand(grade)
    while one.view.get("step") != "number":
        one.follow()
    shown = one.view["shown"]["Where it does not answer"]
    assert shown == HANDS + LINE.removeprefix("Only so: ")
    one.press("n")
    one.go_to("hear" if grade == "heard" else "tell", "p1")
    assert one.view["shown"]["Where it does not answer"] == shown
    one.close()


@pytest.mark.parametrize("grade", ["told", "heard"])
def test_where_the_procedure_says_nothing_of_waking_nobody_is_to_try(grade: str) -> None:
    one = stand(grade, PROCEDURE)
    one.go_to("hear" if grade == "heard" else "tell", "p1")
    assert one.view["shown"]["Where it does not answer"].endswith("no way to wake it: try none, fetch the lead.")
    one.close()

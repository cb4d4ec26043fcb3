"""A pass that is done again asks each of its points once, whatever was paused, shut early and done again before."""

from __future__ import annotations

from itertools import product

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.walk.steps import walk

SAME = PROCEDURE.replace(
    'nipples = ["rl"]', 'nipples = ["rr"]\npressure = { low = "1.8 bar", high = "2.2 bar" }\npressure_age = "90 s"'
)
ACTS = ("pause", "shut early", "do again")
AT_ARMING = PROCEDURE.replace("invented = true", "invented = true\nopened_at_arming = true", 1)


def act(stand: Stand, what: str) -> None:
    """Do this at the first pass, from where its run is asked for with its nipple open, and come there again."""
    if what == "pause":
        stand.do(do="pause")
        while any(one["key"] == "n" for one in stand.view["buttons"]):
            stand.press("n")
        stand.press("r")
        stand.press("y")
    elif what == "shut early":
        stand.press("k")
    else:
        stand.go_to("running", "p1")
        stand.stop()
        stand.go_to("decide", "p1")
        stand.press("r", "again")
        asks_each_once(stand)
    to_its_run(stand)


def to_its_run(stand: Stand) -> None:
    stand.go_to("arm", "p1")
    if "k" not in [one["key"] for one in stand.view["buttons"]]:  # it is opened with the answers before arming
        stand.go_to("armed", "p1")
        stand.press("x")
        stand.go_to("arm", "p1")


def asks_each_once(stand: Stand) -> None:
    own = [one for one in walk(stand.state.procedure, stand.state.plan) if one.pass_id == "p1"]
    assert [one for one in stand.state.points[stand.state.cursor :] if one.pass_id == "p1" and not one.again] == own


@pytest.mark.parametrize("procedure", [PROCEDURE, AT_ARMING], ids=["opened first", "opened at arming"])
@pytest.mark.parametrize("acts", list(product(ACTS, repeat=2)), ids=" then ".join)
def test_a_pass_done_again_asks_each_of_its_points_once_and_is_over_after_one_run(
    procedure: str, acts: tuple[str, ...]
) -> None:
    stand = Stand(procedure=procedure)
    to_its_run(stand)
    for one in (*acts, "do again"):
        act(stand, one)
    stand.go_to("running", "p1")
    stand.go_to("close", "p1")
    stand.press("y")
    assert (stand.view["kind"], stand.view["step"], stand.view["pass_id"]) == ("reading", "torque", "p1")
    stand.close()


def test_how_another_pass_left_the_nipple_is_said_again_before_the_pressure_of_the_pass_that_is_done_again() -> None:
    stand = Stand(procedure=SAME)
    stand.go_to("running", "p2")
    stand.until(lambda: stand.state.cued)
    stand.stop()
    stand.go_to("decide", "p2")
    stand.press("r")
    ahead = [(one.pass_id, one.step.id if one.step else one.kind) for one in stand.state.points[stand.state.cursor :]]
    assert ahead[:3] == [("p1", "torque"), ("p2", "pressure"), ("p2", "run")]
    stand.close()

"""A nipple of which a card does not say that it was closed is closed in the bay: what vouches for it is said again."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.cli.bay import Bay
from tests.cli.test_empty_card import BEFORE, findings, keyed, open_job
from tests.cli.test_entering import BOXED, CARD

from witnessmark.host.card import entering
from witnessmark.job.keys.again import beside
from witnessmark.job.screens.now import next_view
from witnessmark.job.view import View
from witnessmark.job.walk.closed_late import SAYS
from witnessmark.job.walk.state import JobState
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft

BACK = """[[steps_after]]
id = "let-off"
text = "Let the pressure off"
affects = "depressurise"
caution = "Fluid sprays while pressure is left."
[[steps_after]]
id = "pedal"
text = "Does the pedal hold?"
act = "check"
affects = "pedal-check"
[[steps_after]]
id = "wheels"
text = "Wheels"
act = "read"
what = "wheel-torque"
unit = "N.m"
affects = "wheels-torqued"
limit = { low = "170 N.m", high = "190 N.m" }
"""
APART = """[[steps_after_each_pass]]
id = "torque"
text = "Torque"
act = "read"
what = "torque"
unit = "N.m"
affects = "torqued"
[[steps_after_each_pass]]
id = "cap"
text = "Cap on"
affects = "capped"
"""
LIMITS = 'circuit = "one", torque = { low = "7 N.m", high = "9 N.m" } }'
SEPARATE = CARD.replace('circuit = "one" }', LIMITS).replace("[[steps_after]]", f"{APART}[[steps_after]]", 1)
LAST = ["10:47", "10:48 yes", "10:49 180", "10:50"]


def job_of(bay: Bay, tmp_path: Path, text: str) -> str:
    path = tmp_path / "back.toml"
    path.write_text(text.replace("[[steps_after]]", f"{BACK}[[steps_after]]", 1), encoding="utf-8")
    return open_job(bay, path)


@pytest.fixture
def job(bay: Bay, tmp_path: Path) -> str:
    """Return a job of which a card says everything but that its nipple was closed: torque and cap apart."""
    job = job_of(bay, tmp_path, SEPARATE)
    said, _ = keyed(bay, job, *BEFORE, "?", "10:44 8", "10:44", *LAST)
    assert "11 of 11 steps" in said
    return job


def write(bay: Bay, job: str, body: bodies.Body) -> JobState:
    """Let a touch of now be recorded; return where the job stands."""
    kind = "reading" if isinstance(body, bodies.Reading) else "step"
    with bay.shop.write() as journal:
        journal.append(Draft(kind, job, "person:t-otter", body=bodies.to_body(body)))
    return entering.state_of(bay.shop, job)


def close(bay: Bay, job: str) -> JobState:
    return write(bay, job, bodies.StepDone(step="close", act="closed", pass_id="p1", nipple="rr"))


def ahead(state: JobState) -> list[str]:
    return [one.id for one in state.points[state.cursor :]]


def shown(state: JobState) -> View:
    return beside(state, next_view(state))


def test_torque_cap_wheels_and_checks_are_asked_again_and_what_was_put_away_is_not(bay: Bay, job: str) -> None:
    state = close(bay, job)
    assert ahead(state) == ["p1:torque:rr", "p1:cap:rr", "pedal", "wheels", "road-test"]
    view = shown(state)
    assert (view.kind, view.what, view.nipples) == ("reading", "torque", ("rr",))
    assert view.text == f"{SAYS} Torque" and [one.key for one in view.buttons] == [], "it is not put off"


def test_the_record_has_proof_of_it_only_once_it_is_said_again(bay: Bay, job: str) -> None:
    close(bay, job)
    before = findings(bay, job)
    assert {before[one]["answer"] for one in ("torque-cap", "refitted")} == {"no proof"}
    amount = bodies.Amount(value="8", unit="N.m")
    state = write(bay, job, bodies.Reading(what="torque", amount=amount, step="torque", pass_id="p1", nipple="rr"))
    done = bodies.StepDone(step="cap", act="done", pass_id="p1", nipple="rr", affects="capped")
    assert ahead(write(bay, job, done))[0] == "pedal"
    write(bay, job, bodies.StepDone(step="pedal", act="confirmed", affects="pedal-check"))
    amount = bodies.Amount(value="180", unit="N.m")
    wheels = bodies.Reading(what="wheel-torque", amount=amount, step="wheels", affects="wheels-torqued", within=True)
    state = write(bay, job, wheels)
    assert ahead(state) == ["road-test"]
    assert {findings(bay, job)[one]["answer"] for one in ("torque-cap", "refitted")} == {"met"}


def test_one_touch_that_said_all_of_it_says_nothing_any_more_of_how_it_ran(bay: Bay, tmp_path: Path) -> None:
    job = job_of(bay, tmp_path, BOXED)
    keyed(bay, job, *BEFORE, "?", *LAST)
    state = close(bay, job)
    point = state.points[state.cursor]
    assert (point.id, point.also, point.closes) == ("p1:torque:rr", ("capped",), False)
    assert ahead(state)[1:] == ["pedal", "wheels", "road-test"]


def test_before_anything_was_put_back_only_what_vouches_for_the_nipple_is_asked(bay: Bay, tmp_path: Path) -> None:
    job = job_of(bay, tmp_path, SEPARATE)
    keyed(bay, job, *BEFORE, "?", "10:44 8")
    assert ahead(close(bay, job)) == ["p1:torque:rr", "p1:cap:rr", "let-off", "pedal", "wheels", "road-test"]


def test_a_wheel_torque_kept_outside_its_limits_is_read_anew(bay: Bay, tmp_path: Path) -> None:
    job = job_of(bay, tmp_path, SEPARATE)
    keyed(bay, job, *BEFORE, "?", "10:44 8", "10:44", *LAST[:2], "10:49 160", "- cannot be put right now", "10:50")
    state = close(bay, job)
    assert state.reading("wheel-torque") is None and state.reading("torque") is None


def test_a_card_keyed_in_whole_asks_nothing_again(bay: Bay, tmp_path: Path) -> None:
    job = job_of(bay, tmp_path, SEPARATE)
    keyed(bay, job, *BEFORE, "10:43", "10:44 8", "10:44", *LAST)
    assert ahead(entering.state_of(bay.shop, job)) == []

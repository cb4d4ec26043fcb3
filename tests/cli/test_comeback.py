"""A comeback opens with what the job before left open, and with the passes that need a look."""

from __future__ import annotations

from tests.cli.bay import PROCEDURE, Bay

from witnessmark.host.closing import state_of
from witnessmark.journal import bodies
from witnessmark.journal.entry import Draft


def test_it_begins_with_the_open_items_of_the_job_before_and_goes_on_with_its_passes(bay: Bay) -> None:
    first = bay.open_job()
    second = bay.open_job("--scope", f"follows {first}")
    opened = bay.entries(second)[0].body
    assert opened["scope"] == f"follows {first} p1,p2,p3,p4,p5,p6,p7,p8"
    (unproven,) = opened["earlier"]
    assert unproven.startswith("no proof of ") and "Was every nipple served?" in unproven, "one touch for all of them"
    assert not any("Released" in line or "as it was written" in line for line in opened["earlier"])
    state = state_of(bay.shop, second)
    assert state.point is not None and state.point.step is not None
    assert state.point.step.text.startswith("Left open by the job before: ")
    assert state.point.step.text.endswith("? Put it right, then look: is it as it must be?")
    ids = [one.step.id for one in state.points if one.step]
    assert ids.index("make-safe") == len(opened["earlier"])


def test_what_stood_open_on_the_vehicle_comes_first_then_each_unmet_item(bay: Bay) -> None:
    first = bay.open_job()
    opened = bodies.StepDone(step="open", act="opened", pass_id="p1", nipple="rear-left")
    age = bodies.Reading(what="container-age", amount=bodies.Amount("300", "d"), step="container-age")
    with bay.shop.write() as journal:
        for kind, body in (("step", opened), ("reading", age)):
            journal.append(Draft(kind, first, "person:t-otter", body=bodies.to_body(body)))
    second = bay.open_job("--scope", f"follows {first}")
    earlier = bay.entries(second)[0].body["earlier"]
    assert earlier[0] == "Nipple rear left is OPEN: close it."
    assert earlier[1].startswith("Was the container fresh? not met") and "no proof of" in earlier[2]


def test_named_passes_are_kept_and_a_job_that_is_not_there_is_refused(bay: Bay) -> None:
    first = bay.open_job()
    second = bay.open_job("--scope", f"follows {first} p2,p5")
    assert bay.entries(second)[0].body["plan"] == ["p2", "p5"]
    words = ("job", "open", "--procedure", PROCEDURE, "--grade", "told", "--vehicle", "v", "--scope")
    for scope in ("follows 991231-9", "follows", "follows 1 2 3"):
        assert bay.run(*words, scope).exit_code == 2, scope

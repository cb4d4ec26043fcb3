"""A comeback opens with what the job before left open, and with the passes that need a look."""

from __future__ import annotations

from tests.cli.bay import PROCEDURE, Bay

from witnessmark.host.closing import state_of


def test_it_begins_with_the_open_items_of_the_job_before_and_goes_on_with_its_passes(bay: Bay) -> None:
    first = bay.open_job()
    second = bay.open_job("--scope", f"follows {first}")
    opened = bay.entries(second)[0].body
    assert opened["scope"] == f"follows {first} p1,p2,p3,p4,p5,p6,p7,p8"
    assert any(line.startswith("Was every nipple served? no proof") for line in opened["earlier"])
    assert not any("Released" in line or "as it was written" in line for line in opened["earlier"])
    state = state_of(bay.shop, second)
    assert state.point is not None and state.point.step is not None
    assert state.point.step.text.startswith("Left open by the job before: ")
    ids = [one.step.id for one in state.points if one.step]
    assert ids.index("make-safe") == len(opened["earlier"])


def test_named_passes_are_kept_and_a_job_that_is_not_there_is_refused(bay: Bay) -> None:
    first = bay.open_job()
    second = bay.open_job("--scope", f"follows {first} p2,p5")
    assert bay.entries(second)[0].body["plan"] == ["p2", "p5"]
    words = ("job", "open", "--procedure", PROCEDURE, "--grade", "told", "--vehicle", "v", "--scope")
    for scope in ("follows 991231-9", "follows", "follows 1 2 3"):
        assert bay.run(*words, scope).exit_code == 2, scope

"""What a card does not say was closed is closed first of all, and never counts as closed before."""

from __future__ import annotations

from dataclasses import replace

from tests.job.stand import Stand

from witnessmark.job.screens.now import next_view
from witnessmark.job.walk.standing import standing


def unsure() -> Stand:
    """Return a job of which a card does not say that its first nipple was closed."""
    stand = Stand()
    stand.runner.state = replace(stand.state, open_nipples=("rr",), unsure=(("p1", "rr"),))
    stand.until(lambda: stand.view["kind"] == "close")
    return stand


def test_it_is_closed_with_one_key_before_anything_else_is_asked() -> None:
    stand = unsure()
    assert stand.view["text"].startswith("The nipple rear right may be OPEN: the card does not say")
    assert standing(stand.state) == (
        "Nipple rear right may be OPEN (the card does not say that it was closed): close it.",
    )
    stand.press("y")
    assert (stand.state.unsure, stand.state.open_nipples, stand.view["step"]) == ((), (), "grade")
    assert [(one.act, one.pass_id, one.nipple) for one in stand.bodies("step")] == [("closed", "p1", "rr")]
    stand.close()


def test_one_that_is_found_closed_was_closed_some_time_on_that_day_and_nobody_knows_when() -> None:
    stand = unsure()
    stand.press("b")
    entry = stand.journal.of("J1")[-1]
    assert (entry.body["act"], entry.occurred.basis) == ("closed", "typed")
    assert 0 <= entry.recorded.wall_ns - entry.occurred.to_ns < 10**9
    assert entry.occurred.from_ns < entry.occurred.to_ns - 10**9
    stand.close()


def test_a_feed_that_no_entry_lets_off_is_let_off_with_a_key_behind_the_last_step() -> None:
    stand = Stand()
    state = replace(stand.state, cursor=len(stand.state.points), pressurised=True)
    view = next_view(state)
    assert [one.key for one in view.buttons] == ["o", "f"] and "fluid sprays out" in view.text
    assert [one.key for one in next_view(replace(state, pressurised=False)).buttons] == ["f"]
    stand.runner.state = state
    stand.until(lambda: stand.view["kind"] == "done")
    stand.press("o")
    assert not stand.state.pressurised and [one["key"] for one in stand.view["buttons"]] == ["f"]
    assert stand.bodies("step")[-1].affects == "depressurise"
    stand.close()

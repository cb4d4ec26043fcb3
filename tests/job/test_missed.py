"""A nipple that was not opened while its run lasted: the pass is done again or kept with a reason."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.state import ACCEPT, LATER, MISSED

CLOSES = PROCEDURE.replace('affects = "torqued"', 'affects = "torqued"\nalso = ["closed", "clear", "capped"]')
BOTH = CLOSES.replace('nipples = ["rl"]', 'nipples = ["rr", "rl"]').replace('order = "with"', 'order = "before"')


def stand_at(procedure: str) -> Iterator[Stand]:
    one = Stand(procedure=procedure)
    yield one
    one.close()


@pytest.fixture
def stand() -> Iterator[Stand]:
    yield from stand_at(CLOSES)


@pytest.fixture
def both() -> Iterator[Stand]:
    yield from stand_at(BOTH)


def put_off(stand: Stand, pass_id: str) -> None:
    """Open none of the nipples before the run of a pass and let it complete."""
    stand.go_to("open", pass_id)
    while not stand.bodies("outcome") or stand.bodies("outcome")[-1].pass_id != pass_id:
        if stand.view["kind"] == "open":
            stand.press("l", "opened as it runs")
        else:
            stand.go_to("running", pass_id)
            stand.until(lambda: stand.bodies("outcome") and stand.bodies("outcome")[-1].pass_id == pass_id)
    stand.until(lambda: stand.view["kind"] not in ("busy", "running"))
    assert any(one.step == LATER for one in stand.bodies("step"))


def test_one_that_was_never_opened_is_decided_on_where_its_closing_is_read_with_the_torque(stand: Stand) -> None:
    put_off(stand, "p1")
    assert stand.view["text"] == "Was the nipple rear right opened while it ran?"
    stand.press("n")
    assert stand.view["kind"] == "decide"
    assert stand.view["text"].startswith("The run completed, and its nipple was not open.")
    assert [one["key"] for one in stand.view["buttons"]] == ["r", "k"]


def test_it_is_decided_on_after_a_crash_and_a_pause_too(stand: Stand) -> None:
    put_off(stand, "p1")
    stand.press("n")
    stand.crash()
    stand.until(lambda: stand.view["kind"] not in ("busy", "running"))
    if stand.view["kind"] == "paused":
        stand.press("r")
    assert stand.view["kind"] == "decide"


def test_done_again_it_is_opened_and_run_from_the_beginning(stand: Stand) -> None:
    put_off(stand, "p1")
    stand.press("n")
    stand.press("r")
    stand.go_to("open", "p1")
    stand.press("y")
    assert stand.state.open_nipples == ("rr",) and not stand.state.missed


def test_kept_with_a_reason_it_is_not_asked_again_and_nothing_says_that_it_was_opened(stand: Stand) -> None:
    put_off(stand, "p1")
    stand.press("n")
    stand.press("k", "served at p2 as well")
    assert stand.view["pass_id"] != "p1" and not stand.state.decide
    steps = stand.bodies("step")
    assert [one.step for one in steps if one.pass_id == "p1" and one.step in (MISSED, ACCEPT)] == [MISSED, ACCEPT]
    assert not [one for one in steps if one.act == "opened"]


def test_a_cue_that_was_not_followed_is_decided_on_where_its_closing_is_read_with_the_torque(stand: Stand) -> None:
    stand.go_to("running", "p2")
    stand.until(lambda: stand.bodies("outcome") and stand.bodies("outcome")[-1].pass_id == "p2")
    stand.until(lambda: stand.view["kind"] not in ("busy", "running"))
    assert stand.view["text"].endswith("opened on the cue?")
    stand.press("n")
    assert stand.view["kind"] == "decide" and stand.state.decide == "p2"
    stand.press("k", "served at p1 as well")
    assert stand.view["step"] == "road-test"


def test_of_two_nipples_each_is_asked_for_and_the_other_one_is_still_read(both: Stand) -> None:
    put_off(both, "p2")
    assert both.view["text"] == "Was the nipple rear right opened while it ran?"
    both.press("n")
    both.press("k", "shut on purpose")
    assert both.view["text"] == "Was the nipple rear left opened while it ran?"
    both.press("y")
    assert (both.view["what"], both.view["nipples"]) == ("torque", ["rl"])

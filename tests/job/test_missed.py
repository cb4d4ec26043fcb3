"""A nipple that was not opened while its run lasted: the pass is done again or kept with a reason."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.job.stand import PROCEDURE, Stand

from witnessmark.job.walk.state import ACCEPT, LATER, MISSED

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


def shut_again(stand: Stand) -> None:
    """Open the nipple of p1, shut it before its run (at a pause), put its opening off, and let the run complete."""
    stand.go_to("open", "p1")
    stand.press("y")
    assert stand.state.open_nipples == ("rr",)
    stand.send(do="pause", why="asked for elsewhere")
    stand.until(lambda: stand.view["kind"] == "paused")
    stand.press("y")
    stand.press("r")
    stand.until(lambda: stand.view["kind"] not in ("busy", "paused"))
    put_off(stand, "p1")


def test_one_that_was_opened_and_shut_again_before_its_run_is_asked_for_as_one_never_opened(stand: Stand) -> None:
    shut_again(stand)
    assert stand.view["text"] == "Was the nipple rear right opened while it ran?"
    stand.press("n")
    assert stand.view["kind"] == "decide" and stand.state.missed == {("p1", "rr")}
    stand.press("r")
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "feed-pressure"


def test_it_is_asked_for_where_the_nipple_is_closed_with_a_touch_of_its_own_too() -> None:
    for stand in stand_at(PROCEDURE):
        shut_again(stand)
        assert stand.view["text"] == "Was the nipple rear right opened while it ran?"
        stand.press("y")
        assert (stand.view["kind"], stand.view["nipples"]) == ("close", ["rr"])
        opened = [one for one in stand.journal.made if one.body.get("act") == "opened"][-1]
        outcome = stand.bodies("outcome")[-1]
        assert opened.occurred.basis == "typed"
        length = int(opened.occurred.to_ns) - int(opened.occurred.from_ns)
        assert length == int(outcome.to_mono) - int(outcome.from_mono)


def test_a_pass_done_again_is_asked_for_anew_although_its_torque_was_read_before(stand: Stand) -> None:
    stand.go_to("reading", "p1")
    stand.follow()
    stand.go_to("reading", "p1")
    assert stand.view["what"] == "torque"
    stand.read("9", "N.m")
    stand.send(do="say", what="empty")
    stand.until(lambda: "ran empty" in stand.view["text"])
    while stand.state.air:
        stand.press(stand.view["buttons"][0]["key"])
    while stand.view["kind"] != "open":
        stand.fill_up() if stand.view.get("step") == "level-look" else stand.follow()
    stand.press("l", "opened as it runs")
    count = len(stand.bodies("outcome"))
    stand.go_to("running", "p1")
    stand.until(lambda: len(stand.bodies("outcome")) > count)
    stand.until(lambda: stand.view["kind"] not in ("busy", "running"))
    assert stand.view["text"] == "Was the nipple rear right opened while it ran?"


EXPECTED = CLOSES.replace('overlap = "90 %"', 'overlap = "90 %"\nclear = false')


def test_where_bubbles_are_expected_a_key_says_that_the_nipple_was_not_open() -> None:
    for stand in stand_at(EXPECTED):
        stand.go_to("reading", "p1")
        stand.follow()
        stand.go_to("reading", "p1")
        assert {"b", "u"} <= {one["key"] for one in stand.view["buttons"]}
        stand.press("u")
        assert stand.view["kind"] == "close" and stand.state.decide == "p1"
        assert stand.view["text"].startswith("An entry says that the nipple rear right was opened. See that it is shut")
        assert [one["label"] for one in stand.view["buttons"]] == ["it is shut"]
        assert stand.view["stands"][0] == (
            "Nipple rear right may be OPEN (it was said to be opened): see that it is shut."
        )
        assert "OPEN" not in stand.view["opened"]
        stand.press("y")
        assert stand.view["text"].startswith("The run completed, and its nipple was not open.")
        stand.press("k", "served at p2 as well")
        assert stand.view["pass_id"] != "p1" and not stand.bodies("reading")[1:]


@pytest.mark.parametrize("procedure", [PROCEDURE, CLOSES], ids=["closed with a touch", "closed with its torque"])
def test_where_it_must_run_clear_and_where_nothing_is_said_of_it_the_same_key_says_so_too(procedure: str) -> None:
    for stand in stand_at(procedure):
        stand.go_to("running", "p1")
        stand.until(lambda one=stand: one.view["kind"] in ("close", "reading"))
        assert stand.view["nipples"] == ["rr"]
        stand.press("u")
        stand.press("y")
        assert stand.view["text"].startswith("The run completed, and its nipple was not open.")
        assert stand.state.missed == {("p1", "rr")} and not stand.state.open_nipples
        stand.press("r")
        stand.go_to("running", "p1")
        assert not stand.state.missed


def test_one_that_no_entry_says_was_opened_is_not_asked_to_be_shut(stand: Stand) -> None:
    put_off(stand, "p1")
    stand.press("n")
    assert stand.view["kind"] == "decide" and "OPEN" not in stand.view["opened"]
    assert "u" not in [one["key"] for one in stand.view["buttons"]]


def test_before_its_run_no_key_says_that_it_was_not_open(stand: Stand) -> None:
    seen: list[str] = []
    while stand.view["kind"] != "running":
        seen += [one["key"] for one in stand.view.get("buttons", [])]
        stand.follow()
    assert "y" in seen and "u" not in seen


def test_one_of_a_told_run_that_was_opened_as_it_ran_was_so_between_the_two_touches() -> None:
    stand = Stand(procedure=CLOSES, grade="told", without_map=True)
    try:
        stand.go_to("open", "p1")
        stand.press("l", "opened as it runs")
        stand.go_to("tell", "p1")
        stand.press("b")
        stand.wait(8)
        stand.press("e")
        stand.wait(30)
        assert stand.view["text"] == "Was the nipple rear right opened while it ran?"
        stand.press("y")
        entries = [one for one in stand.journal.made if one.kind == "outcome" or one.body.get("act") == "opened"]
        ended, opened = entries
        assert int(opened.occurred.to_ns) <= int(ended.occurred.to_ns)
        assert 7e9 < int(opened.occurred.to_ns) - int(opened.occurred.from_ns) < 9e9
    finally:
        stand.close()

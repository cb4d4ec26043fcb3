"""Touches nearer together than they are known show no nipple open: it is said at once, and how that is helped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import pytest
from msgspec import structs
from tests.job.stand import PROCEDURE, Stand
from tests.job.test_mending import CHECKED
from tests.procedure.kept import kept

from witnessmark.audit.case import open_case
from witnessmark.job.amiss import anew, shown_open
from witnessmark.job.screens.step_view import nipple_view
from witnessmark.job.walk.standing import as_left, close_now
from witnessmark.procedure.mending import REPLACED
from witnessmark.range import Range
from witnessmark.report.standing import _to_bleed


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=CHECKED, grade="told", without_map=True)
    made.press("2")
    yield made
    made.close()


def keys(stand: Stand) -> list[str]:
    return [one["key"] for one in stand.view.get("buttons", ())]


def bleed(stand: Stand, pass_id: str, wait_s: float) -> None:
    """Walk to the torque of a pass: opened, started, ended, with so many seconds between the touches."""
    stand.go_to("tell", pass_id)
    stand.until(lambda: "motor rests" not in stand.view["text"])
    stand.go_to("tell", pass_id)
    stand.wait(wait_s)
    stand.press("b")
    if "o" in keys(stand):
        stand.press("o")
    stand.wait(8 if wait_s else 0)
    stand.press("e")
    assert (stand.view["kind"], stand.view["what"]) == ("reading", "torque")


def test_it_is_said_before_the_run_at_its_end_and_once_it_is_shut_and_the_pass_is_done_again_with_one_key(
    stand: Stand,
) -> None:
    stand.go_to("tell", "p1")
    assert stand.view["shown"]["Leave 3 s"].startswith("from opening to start and from end to closing, or there is no")
    bleed(stand, "p1", 0)
    said = (
        "The record does not show rear right open for 90 % of the run: its touches, known to 1 s each, stand too near"
    )
    assert said in stand.view["text"] and "Close it, then do p1 again: leave 3 s from" in stand.view["text"]
    assert "s" not in keys(stand), "no pass is begun anew with a nipple open"
    stand.follow()
    assert said in stand.view["text"] and "Do p1 again: leave 3 s from opening" in stand.view["text"]
    stand.press("s")
    assert stand.bodies("step")[-1].said == "the record does not show its nipple open while it ran"
    bleed(stand, "p1", 4)
    assert said not in stand.view["text"] and stand.view["shown"]["Leave 3 s"].startswith("from opening to start")
    stand.wait(4)
    stand.follow()
    assert "does not show" not in stand.view["text"] and "s" not in keys(stand)


def test_what_was_opened_for_a_mend_stays_to_be_bled_with_the_reason_wherever_that_is_said(stand: Stand) -> None:
    while stand.view.get("step") != "pedal":
        bleed(stand, "p1" if stand.state.runs == () else "p2", 4)
        stand.wait(4)
        stand.follow()
    stand.press("n", "it leaks")
    stand.press("w", REPLACED)
    stand.press("1")
    stand.press("e", "p1 its line was opened")
    bleed(stand, "p1", 0)
    assert "The record does not show rear right open" in stand.view["text"]
    stand.follow()
    why = "p1 was run for rear right, which is not shown open for 90 % of it: its touches, known to 1 s each, stand too"
    assert stand.view["step"] == "pedal" and "e" in keys(stand) and stand.view["text"].count("known to 1 s") == 1
    assert why in stand.view["text"] and why in as_left(stand.state)[-1]
    (line,) = _to_bleed(open_case(stand.journal.of("J1")))
    assert "rear right. p1 was run for rear right: open for 0 %" in line["text"]
    stand.press("e", "p1 its line was opened")
    bleed(stand, "p1", 4)
    stand.wait(4)
    stand.follow()
    assert stand.view["step"] == "pedal" and stand.state.to_bleed == () and "TO BLEED" not in stand.view["text"]


def test_closing_by_a_key_of_its_own_says_how_long_to_leave_it_and_is_taken_with_the_first_touch() -> None:
    made = Stand(grade="told", without_map=True)
    made.go_to("tell", "p1")
    made.wait(4)
    made.press("b")
    made.wait(8)
    made.press("e")
    assert made.view["kind"] == "close" and "takes_s" not in made.view, "a second touch would give it a later time"
    assert "Leave 3 s" in made.view["shown"]
    state = made.state
    close = nipple_view(state, state.pass_of("p1"), "rr", "close")
    assert "Leave 3 s" in anew.beside(state, close).shown
    empty = replace(state, tank=replace(state.tank, left_ml=Decimal(0)))
    for dry in (replace(state, air=True), empty, replace(state, pressurised=False)):
        assert not anew.beside(dry, close).shown, "an open nipple would draw air meanwhile"
    assert not anew.beside(state, structs.replace(close, text=close_now(state, "rr"))).shown
    made.press("y")
    assert "rear right open for 90 % of the run: its touches" in made.view["text"] and "s" in keys(made)
    made.close()


@pytest.mark.parametrize(
    ("opened", "run", "closed", "why"),
    [
        ((0, 2), ((3, 5), (11, 13)), (14, 16), ""),
        ((1, 3), ((1, 3), (11, 13)), (14, 16), "its touches, known to 1 s each, stand too near together"),
        ((0, 2), ((3, 5), (11, 13)), (12, 14), "its touches, known to 1 s each, stand too near together"),
        ((8, 10), ((3, 5), (11, 13)), (14, 16), shown_open.LATE),
        ((0, 2), ((1, 13), (1, 13)), (14, 16), shown_open.AFTERWARDS),
    ],
)
def test_why_it_is_not_shown_is_told_from_the_times(
    stand: Stand,
    opened: tuple[int, int],
    run: tuple[tuple[int, int], tuple[int, int]],
    closed: tuple[int, int],
    why: str,
) -> None:
    marks = {"opened rr": opened, "began p1": run[0], "ended p1": run[1], "closed rr": closed}
    times = tuple((name, Range(low * 10**9, high * 10**9)) for name, (low, high) in marks.items())
    state = replace(stand.state, flow_times=times)
    assert shown_open.why_not(state, state.plan[0], "rr") == why


@pytest.mark.parametrize(
    ("uncertainty", "run", "order", "apart", "shows"),
    [
        ("", "8 s", "before", 5, True),  # 2 s where nothing is set
        ("", "4 s", "before", 5, False),
        ("1 s", "4 s", "before", 3, True),
        ("0.5 s", "4 s", "before", 2, True),
        ("1 s", "4 s", "with", 3, False),
    ],
)
def test_how_far_apart_follows_from_how_well_a_touch_is_known_and_a_short_run_is_never_shown(
    uncertainty: str, run: str, order: str, apart: int, shows: bool
) -> None:
    procedure = structs.replace(kept(PROCEDURE), manual_uncertainty=uncertainty)
    one = structs.replace(procedure.passes[0], seconds=run, order=order)  # type: ignore[arg-type]
    assert (shown_open.apart_s(procedure), shown_open.can_show(procedure, one)) == (apart, shows)

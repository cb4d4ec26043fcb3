from __future__ import annotations

import pytest
from tests.job.stand import PROCEDURE
from tests.job.test_mend_safe import MODES
from tests.procedure.kept import kept

from witnessmark.job.screens.earlier_view import NOT_SAFE, earlier_view
from witnessmark.job.walk.steps import THE_RECORD, begun, walk
from witnessmark.procedure.model import Procedure
from witnessmark.procedure.safe import ONCE_SAFE


def ids(procedure: Procedure) -> list[str]:
    return [f"{point.kind} {point.id}" for point in walk(procedure, procedure.passes)]


def test_a_pass_is_its_pressure_its_nipple_its_run_and_what_follows_in_the_procedures_order() -> None:
    assert ids(kept(PROCEDURE)) == [
        "step grade",
        "step pressurise",
        "reading p1:pressure",
        "open p1:open:rr",
        "run p1:run",
        "close p1:close:rr",
        "reading p1:torque:rr",
        "run p2:run",
        "close p2:close:rl",
        "reading p2:torque:rl",
        "step road-test",
    ]


def test_a_pass_without_a_wire_command_opens_and_closes() -> None:
    text = PROCEDURE.replace('wire_command = "valve"\nseconds = "5 s"\nseconds_tolerance = "1 s"\norder = "with"\n', "")
    text = text.replace('order_tolerance = "5 s"\noverlap = "50 %"\n', "")
    assert [one for one in ids(kept(text)) if " p2:" in one] == [
        "open p2:open:rl",
        "close p2:close:rl",
        "reading p2:torque:rl",
    ]


def test_every_nipple_of_a_pass_is_opened_closed_and_torqued_and_names_its_own_limit() -> None:
    text = PROCEDURE.replace('nipples = ["rr"]', 'nipples = ["rr", "rl"]')
    procedure = kept(text)
    points = [point for point in walk(procedure, procedure.passes[:1]) if point.pass_id]
    assert [(point.kind, point.nipple) for point in points if point.nipple] == [
        ("open", "rr"), ("open", "rl"), ("close", "rr"), ("close", "rl"), ("reading", "rr"), ("reading", "rl"),
    ]  # fmt: skip
    assert [point.limit.low if point.limit else "" for point in points[-2:]] == ["8 N.m", ""]


def test_a_pressure_step_of_the_procedure_is_held_to_the_band_of_the_pass() -> None:
    step = (
        '[[steps_before_each_pass]]\nid = "p"\ntext = "Read it"\nact = "read"\nwhat = "feed-pressure"\nunit = "bar"\n'
    )
    procedure = kept(PROCEDURE.replace("[[passes]]", step + "[[passes]]", 1))
    readings = [point for point in walk(procedure, procedure.passes) if point.step and point.step.id == "p"]
    assert [point.limit.high if point.limit else "" for point in readings] == ["2.2 bar", ""]
    assert "reading p1:pressure" not in ids(procedure)


def test_a_pass_that_need_not_run_clear_is_not_asked_about_it() -> None:
    step = '[[steps_after_each_pass]]\nid = "clear"\ntext = "Clear?"\nact = "check"\naffects = "clear"\n'
    text = PROCEDURE.replace("[[steps_after_each_pass]]", step + "[[steps_after_each_pass]]", 1)
    text = text.replace('overlap = "50 %"\n', 'overlap = "50 %"\nclear = false\n')
    assert [one for one in ids(kept(text)) if ":clear" in one] == ["step p1:clear:rr"]


def test_points_have_ids_of_their_own() -> None:
    named = ids(kept(PROCEDURE))
    assert len(set(named)) == len(named)


@pytest.mark.parametrize(
    ("own", "band"),
    [("", ("", "14 d")), ('limit = { low = "1 d" }', ("1 d", "14 d")), ('limit = { high = "7 d" }', ("", "7 d"))],
)
@pytest.mark.parametrize("section", ["steps_before", "steps_before_each_pass", "steps_after"])
def test_a_containers_age_is_held_to_the_procedures_where_its_step_says_no_most(
    section: str, own: str, band: tuple[str, str]
) -> None:
    step = f'[[{section}]]\nid = "age"\ntext = "How old?"\nact = "read"\nwhat = "container-age"\nunit = "d"\n{own}\n'
    text = 'container_age = "14 d"\n' + PROCEDURE + step
    procedure = kept(text)
    asked = [point.limit for point in walk(procedure, procedure.passes) if point.step and point.step.id == "age"]
    assert asked and {(one.low, one.high) for one in asked if one} == {band}


def test_what_needs_a_hand_in_a_comeback_is_looked_at_once_it_is_made_safe_and_what_stands_open_before_all() -> None:
    earlier = ("Nipple rear right is OPEN: close it.", f"{ONCE_SAFE}torqued? no proof", f"{THE_RECORD}.\n- Was it run?")
    procedure = kept(MODES)
    points = begun(procedure, procedure.passes, earlier)
    names = [one.id for one in points]
    assert names[:7] == ["earlier-1", "earlier-3", "grade", "pressurise", "mode-on", "let-off", "earlier-2"]
    assert points[6].step is not None and points[6].step.text.startswith("Left open by the job before: torqued?")
    assert len(points) == len(walk(procedure, procedure.passes)) + len(earlier)
    assert earlier_view("Bleed", points[0], "Goggles.").caution == f"{NOT_SAFE} Goggles."
    assert earlier_view("Bleed", points[1], "Goggles.").caution == "Goggles."


def test_a_comeback_that_was_opened_before_keeps_its_order_and_where_nothing_makes_safe_all_is_looked_at_first() -> (
    None
):
    procedure = kept(MODES)
    assert [one.id for one in begun(procedure, procedure.passes, ("torqued? no proof",))][:2] == ["earlier-1", "grade"]
    bare = kept(PROCEDURE)
    assert begun(bare, bare.passes, (f"{ONCE_SAFE}torqued? no proof",))[0].id == "earlier-1"

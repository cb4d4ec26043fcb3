"""What another tester shows is typed where nothing of ours reads it: told by a person, and no more than that."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.job.stand import PROCEDURE, TECHNICIAN, Stand
from tests.job.test_asking import STEPS

from witnessmark.cli.bay.dialog import Dialog
from witnessmark.errors import InputError
from witnessmark.job.reasons import OTHER_NUMBER
from witnessmark.job.unit import told_unit
from witnessmark.job.walk.fold import advance, fold
from witnessmark.journal.bodies import Condition
from witnessmark.report.lines import line

TEXT = PROCEDURE.replace('[[steps_before]]\nid = "grade"', STEPS + '[[steps_before]]\nid = "grade"')
NUMBER = "0DU14LT2XN0000014"


@pytest.fixture
def stand() -> Iterator[Stand]:
    made = Stand(procedure=TEXT, grade="told", without_map=True)
    made.runner.state = replace(made.state, vehicle=NUMBER)
    yield made
    made.close()


def test_number_and_codes_are_typed_and_recorded_as_told_by_the_person(stand: Stand) -> None:
    stand.press("y", "0du14lt2x n0000014")
    assert stand.view["step"] == "codes-before" and stand.state.vehicle_read == "", "nothing read it"
    stand.press("y", "p0123, C2A10-00")
    assert stand.view["step"] == "grade"
    number, codes = (one for one in stand.journal.of("J1") if one.kind in ("condition", "scan"))
    assert (number.done_by, codes.done_by) == (TECHNICIAN.actor, TECHNICIAN.actor)
    (body,), (scan,) = stand.bodies("condition"), stand.bodies("scan")
    assert (body.found, body.holds, body.source, body.exchange) == (NUMBER, True, "told", None)
    assert (scan.codes, scan.when, scan.exchange) == (("P0123", "C2A10-00"), "before", None)
    assert line("scan", scan, codes.done_by).endswith("as t-otter read them off another tester")
    assert stand.unit.heard == []


def test_another_number_than_the_orders_stays_in_the_record_and_the_walk_stays_there(stand: Stand) -> None:
    stand.press("y", "0DU14LT2XN0000099")
    assert stand.view["step"] == "number" and stand.view["text"].startswith("HANDS OFF: it was said to be 0DU14LT2XN")
    stand.press("y", NUMBER)
    assert stand.view["step"] == "codes-before"
    assert [one.holds for one in stand.bodies("condition")] == [False, True]


def test_no_code_is_said_with_one_key_and_what_is_no_code_is_refused(stand: Stand) -> None:
    stand.press("n")
    stand.press("y", "the lamp is on")
    assert "is not a trouble code" in stand.errors[-1]["what"] and stand.bodies("scan") == []
    stand.press("o")
    assert stand.bodies("scan")[0].codes == () and stand.view["step"] == "grade"


def test_each_key_of_a_code_is_typed_and_none_of_them_says_that_there_is_no_code(stand: Stand) -> None:
    stand.press("n")
    for code in ("C1B41-54", "U0123-87"):
        face = Dialog()
        face.show(stand.view)
        assert [face.press(key) for key in f"y{code}"] == [None] * 9 and face.typed == code
        command = face.press("\r")
        assert isinstance(command, dict) and command["said"] == code
    assert {one["key"] for one in stand.view["buttons"]} == {"y", "o", "n"}


def test_what_is_no_number_is_refused(stand: Stand) -> None:
    for said in ("as on the order!", "the same", "123"):
        stand.press("y", said)
        assert "is no number of a vehicle" in stand.errors[-1]["what"] and stand.bodies("condition") == []
    with pytest.raises(InputError):
        told_unit.said(stand.state, stand.state.points[0], "")


def test_the_same_entries_give_the_same_state(stand: Stand) -> None:
    stand.press("y", NUMBER)
    entries = stand.journal.of("J1")
    assert advance(fold(entries[:-1]), entries[-1]).points == stand.state.points


def test_who_goes_on_with_another_number_says_why_and_the_words_stand_in_the_entry(stand: Stand) -> None:
    stand.press("y", "0DU14LT2XN0000099")
    stand.press("n")
    assert "words are missing" in stand.errors[-1]["what"] and stand.view["step"] == "number"
    stand.press("n", OTHER_NUMBER[0])
    assert stand.view["step"] == "codes-before"
    assert [(one.act, one.said) for one in stand.bodies("step")] == [("skipped", OTHER_NUMBER[0])]


def test_what_is_no_number_of_iso_3779_is_asked_about_and_taken_only_as_read(stand: Stand) -> None:
    stand.press("y", "C2A1000")
    assert stand.errors[-1]["what"].startswith("said: REALLY C2A1000?") and stand.bodies("condition") == []
    stand.press("y", "C2A1000 as read")
    (body,) = stand.bodies("condition")
    assert (body.found, body.holds) == ("C2A1000", False) and stand.view["text"].startswith("HANDS OFF")
    point = stand.state.point
    assert point is not None
    old = replace(stand.state, vehicle="CH-4711")
    assert isinstance(told_unit.said(old, point, "CH 4711"), Condition), "an older vehicle has another number"
    with pytest.raises(InputError, match="REALLY"):
        told_unit.said(replace(stand.state, vehicle=""), point, "C2A1000")
